//! What every page has: head, title, landmarks, the way to its parts, the line to sign.

use crate::words::plain;
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// One part of a page.
pub(crate) struct Section {
    /// For links within the page.
    pub id: &'static str,
    pub heading: Markup,
    /// The heading in the list of parts.
    pub title: String,
    pub body: Markup,
}

pub(crate) struct Page {
    pub title: String,
    /// What it is of: the date, the span.
    pub of: String,
    /// How much there is to do.
    pub totals: String,
    /// Cautions of the whole page.
    pub cautions: Vec<String>,
    pub sections: Vec<Section>,
}

impl Page {
    pub fn draw(self) -> String {
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    // Nothing is fetched and nothing runs, whatever a name or a note says.
                    meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title { (plain(&self.title)) ", " (self.of) }
                    style { (PreEscaped(include_str!("style.css"))) }
                }
                body {
                    a.skip href="#sheet" { "to the sheet" }
                    header {
                        h1 { (plain(&self.title)) }
                        p { (self.of) }
                        p.totals { (self.totals) }
                        @if self.sections.len() > 1 {
                            nav aria-label="parts of this sheet" {
                                ul { @for section in &self.sections { li { a href={ "#" (section.id) } { (section.title) } } } }
                            }
                        }
                    }
                    main #sheet {
                        (cautions(self.cautions.iter().map(String::as_str)))
                        @for section in &self.sections {
                            section aria-labelledby=(section.id) {
                                h2 id=(section.id) { (section.heading) }
                                (section.body)
                            }
                        }
                    }
                    footer {
                        p { "A tick on this sheet changes no log: record what was done, and what was found." }
                        p { "Makers' manuals, local codes, carriers' rules and licensed technicians come before it." }
                        div.signed aria-hidden="true" { span { "done by" } span { "on" } }
                    }
                }
            }
        }
        .into_string()
    }
}

/// Foreign text, its dates kept whole at the ends of lines.
pub(crate) fn text(text: &str) -> Markup {
    html! { @for word in plain(text).split_inclusive(' ') {
        @match date(word) {
            Some((date, rest)) => { time { (date) } (rest) }
            None => (word),
        }
    } }
}

/// A date at the start of a word, and what stands behind it.
fn date(word: &str) -> Option<(&str, &str)> {
    let (date, rest) = word.split_at_checked("2026-02-08".len())?;
    date.parse::<chrono::NaiveDate>().ok().map(|_| (date, rest))
}

/// Each caution in a frame of its own, with the word.
pub(crate) fn cautions<'a>(texts: impl IntoIterator<Item = &'a str>) -> Markup {
    html! { @for text in texts { p.caution { strong { "Caution" } ": " (self::text(text)) } } }
}
