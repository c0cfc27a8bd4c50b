// Opens every page of a folder in headless Chromium and looks for what would spoil it on a screen or on paper.
// usage: node check.mjs FOLDER [PICTURES]
import { chromium } from "playwright-core";
import { getDocumentProxy } from "unpdf";
import { readdir } from "node:fs/promises";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [folder, pictures] = process.argv.slice(2);
const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const widths = [360, 800, 1280];
const faults = [];
let looked = 0;

/** What axe-core finds, in one line each. */
async function violations(page) {
  // The page forbids scripts; the checker is let in past that.
  await page.addScriptTag({ path: axe });
  const found = await page.evaluate(() => globalThis.axe.run(document));
  return found.violations.map((one) => `axe ${one.id}: ${one.help}: ${one.nodes[0].html.slice(0, 120)}`);
}

/** Elements that stick out of the window to the right. */
const overflow = () => {
  const width = document.documentElement.clientWidth;
  const out = document.documentElement.scrollWidth > width ? [`the page is ${document.documentElement.scrollWidth} wide`] : [];
  for (const element of document.querySelectorAll("body *:not(.skip)")) {
    if (element.closest("svg") && element.tagName !== "svg") continue;
    const box = element.getBoundingClientRect();
    if (box.width > 0 && box.right > width + 1) out.push(`<${element.tagName.toLowerCase()}> ends at ${Math.round(box.right)}`);
  }
  return out.slice(0, 3);
};

/** Everything that can be reached by the tab key has a name and is seen to be reached. */
const byKeyboard = () => {
  const reachable = [...document.querySelectorAll("a[href], input")];
  return reachable
    .filter((element) => element.tabIndex < 0 || !(element.getAttribute("aria-label") || element.textContent.trim()))
    .map((element) => element.outerHTML.slice(0, 80));
};

async function screens(browser, url, name) {
  for (const width of widths) {
    for (const colorScheme of ["light", "dark"]) {
      const context = await browser.newContext({ viewport: { width, height: 900 }, colorScheme, bypassCSP: true });
      const page = await context.newPage();
      const at = `${name} at ${width}, ${colorScheme}`;
      const fault = (text) => faults.push(`${at}: ${text}`);
      page.on("console", (message) => ["error", "warning"].includes(message.type()) && fault(`console: ${message.text()}`));
      page.on("pageerror", (error) => fault(`page error: ${error.message}`));
      page.on("request", (request) => request.url() === url || fault(`asks for ${request.url()}`));
      await page.goto(url);
      (await page.evaluate(overflow)).forEach((text) => fault(`too wide: ${text}`));
      if (width === 360) (await page.evaluate(byKeyboard)).forEach((text) => fault(`no name or not reachable: ${text}`));
      (await violations(page)).forEach(fault);
      if (pictures) await page.screenshot({ path: join(pictures, `${name}-${width}-${colorScheme}.png`), fullPage: true });
      looked += 1;
      await context.close();
    }
  }
}

const squeeze = (text) => text.replace(/\s+/gu, "");

/** Every row, caution and heading of the page stands on paper, each whole on one sheet. */
async function paper(browser, url, name) {
  const context = await browser.newContext({ colorScheme: "dark" });
  const page = await context.newPage();
  await page.goto(url);
  await page.emulateMedia({ media: "print" });
  const wanted = await page.evaluate(() => {
    const cells = [...document.querySelectorAll("tbody th, tbody td .line > span, p.caution, h2, .totals, main li")];
    return cells.filter((cell) => cell.innerText.trim()).map((cell) => cell.innerText);
  });
  const rows = await page.evaluate(() =>
    [...document.querySelectorAll("tbody tr")].map((row) => [...row.querySelectorAll("th b, .line > span")].map((cell) => cell.innerText)),
  );
  const path = pictures ? join(pictures, `${name}.pdf`) : undefined;
  const bytes = await page.pdf({ path, preferCSSPageSize: true, printBackground: false });
  const document = await getDocumentProxy(new Uint8Array(bytes));
  const sheets = [];
  for (let number = 1; number <= document.numPages; number += 1) {
    const sheet = await document.getPage(number);
    const [, , wide, high] = sheet.view;
    if (Math.round(wide) !== 595 || Math.round(high) !== 842) faults.push(`${name}: page ${number} is not A4 but ${wide} × ${high}`);
    const items = (await sheet.getTextContent()).items;
    items.filter((item) => item.transform[4] + item.width > wide - 20).forEach((item) => faults.push(`${name}: print: cut at the right: ${item.str}`));
    sheets.push(squeeze(items.map((item) => item.str).join("")));
  }
  // Upper case by style is upper case on paper.
  const stands = (text) => sheets.some((sheet) => sheet.toLowerCase().includes(squeeze(text).toLowerCase()));
  wanted.filter((text) => !stands(text)).forEach((text) => faults.push(`${name}: print: not whole on any page: ${text}`));
  const together = (cells) => sheets.some((sheet) => cells.every((cell) => sheet.toLowerCase().includes(squeeze(cell).toLowerCase())));
  rows.filter((cells) => cells.length > 0 && !together(cells)).forEach((cells) => faults.push(`${name}: print: a row is cut: ${cells}`));
  console.log(`${name}: ${wanted.length} texts and ${rows.length} rows on ${sheets.length} pages of paper`);
  await context.close();
}

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
try {
  const pages = (await readdir(folder)).filter((file) => file.endsWith(".html")).sort();
  if (pages.length === 0) faults.push(`no page in ${folder}`);
  for (const file of pages) {
    const url = pathToFileURL(resolve(folder, file)).href;
    const name = file.replace(/\.html$/u, "");
    await screens(browser, url, name);
    await paper(browser, url, name);
  }
  console.log(`${looked} screens looked at, ${faults.length} faults`);
} finally {
  await browser.close();
}
faults.forEach((fault) => console.error(fault));
process.exitCode = faults.length === 0 ? 0 : 1;
