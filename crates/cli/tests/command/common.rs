//! Runs a command in this process, at a fixed present.

use kitlore_cli::{Host, run};
use std::path::{Path, PathBuf};

/// What a command left behind.
pub struct Done {
    pub code: u8,
    pub out: String,
    pub err: String,
}

impl Done {
    /// All of it as one text, for snapshots.
    pub fn transcript(&self) -> String {
        let mut text = self.out.clone();
        if !self.err.is_empty() {
            text.push_str("--- messages\n");
            text.push_str(&self.err);
        }
        text.push_str(&format!("--- exit {}\n", self.code));
        text
    }
}

pub fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples")
}

/// A plain terminal of so many columns, at noon of 25 November 2026.
pub fn kitlore_at(width: usize, colour: bool, args: &[&str]) -> Done {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let now = chrono::DateTime::parse_from_rfc3339("2026-11-25T12:00:00Z").expect("a date-time").into();
    let mut host = Host { out: &mut out, err: &mut err, now, width, colour_out: colour, colour_err: colour };
    let code = run(std::iter::once("kitlore").chain(args.iter().copied()), &mut host);
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    Done { code, out: text(out), err: text(err) }
}

pub fn kitlore(args: &[&str]) -> Done {
    kitlore_at(80, false, args)
}

/// A command on the shipped studio.
pub fn studio(width: usize, colour: bool, command: &str, rest: &[&str]) -> Done {
    let folder = examples().join("studio");
    let path = |file: &str| folder.join(file).display().to_string();
    let (rules, items, columns, log) =
        (path("house.lore"), path("inventory.xlsx"), path("columns"), path("log.csv"));
    let mut args = vec![command, &rules, "--items", &items, "--columns", &columns, "--log", &log];
    args.extend(rest);
    kitlore_at(width, colour, &args)
}

/// A small house in a folder of its own.
pub struct House {
    folder: tempfile::TempDir,
}

pub const RULES: &str = "\
house \"Kestrel Yard\"
time zone Europe/Lisbon

for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
    notice 5 lens changes
    needs blower, plain bright wall
    takes 10 minutes
  when inspect sensor finds dust, clean sensor
    by \"Mara\"
    caution \"Charged battery only.\"
for straps
  before every trip, inspect strap
    within 3 days
  when inspect strap finds fraying, replace strap
    do not use until done
for batteries
  after every charge, wipe contacts
  when capacity is below 80 percent, retire battery
";

pub const ITEMS: &str = "\
id,kind,received
C1,camera,2026-10-01
C2,camera,
S1,strap,2026-01-01
B1,battery,2026-01-01
";

pub const LOG: &str = "\
when,until,item,event,amount,reading,unit,in,found,ref,by,note,id
2026-11-02,,C1,lens change,12,,,dust,,,,,
2026-11-20,,C1,lens change,4,,,dust,,,,,
2026-11-21,,S1,inspect strap,,,,,fraying,,,,E1
2026-11-27,2026-11-29,S1,trip,,,,,,,,,
";

impl House {
    pub fn new() -> Self {
        Self::with(RULES, ITEMS, LOG)
    }

    pub fn with(rules: &str, items: &str, log: &str) -> Self {
        let house = Self { folder: tempfile::tempdir().expect("a folder") };
        for (name, text) in [("house.lore", rules), ("items.csv", items), ("log.csv", log)] {
            std::fs::write(house.path(name), text).expect("written");
        }
        house
    }

    pub fn path(&self, name: &str) -> String {
        self.folder.path().join(name).display().to_string()
    }

    pub fn read(&self, name: &str) -> String {
        std::fs::read_to_string(self.path(name)).expect("read")
    }

    /// A command on the house's files.
    pub fn run(&self, command: &str, rest: &[&str]) -> Done {
        self.run_at(80, false, command, rest)
    }

    /// The same on a terminal of so many columns.
    pub fn run_at(&self, width: usize, colour: bool, command: &str, rest: &[&str]) -> Done {
        let (rules, items, log) = (self.path("house.lore"), self.path("items.csv"), self.path("log.csv"));
        let mut args = vec![command, &rules, "--items", &items, "--log", &log];
        args.extend(rest);
        let mut done = kitlore_at(width, colour, &args);
        let folder = format!("{}/", self.folder.path().display());
        done.out = done.out.replace(&folder, "");
        done.err = done.err.replace(&folder, "");
        done
    }

    /// A command on the rule file alone.
    pub fn on_rules(&self, command: &str, rest: &[&str]) -> Done {
        let rules = self.path("house.lore");
        let mut args = vec![command, rules.as_str()];
        args.extend(rest);
        let mut done = kitlore(&args);
        let folder = format!("{}/", self.folder.path().display());
        done.out = done.out.replace(&folder, "");
        done.err = done.err.replace(&folder, "");
        done
    }
}
