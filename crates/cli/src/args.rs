//! What can be asked on the command line.

use clap::{Args, Parser, Subcommand, ValueEnum};

/// What is due on which piece of equipment, and why: from house rules, an inventory and a log.
#[derive(Debug, Parser)]
#[command(
    name = "kitlore",
    version,
    max_term_width = 100,
    arg_required_else_help = true,
    subcommand_required = true
)]
pub(crate) struct Cli {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Say what is due on which item, the worst first.
    Due(DueArgs),
    /// Say what use will bring due, and when: by which dates with 10, 50 and 90 % chance.
    Ahead(AheadArgs),
    /// Say what a trip needs: before it, on the way, on return, in the bag, and what stays at home.
    Trip(Box<TripArgs>),
    /// Give the full account of a row: the rule, each part with its count, the entry that tipped it.
    Why(WhyArgs),
    /// Write what has a date as a calendar file (iCalendar): a task to do for each row.
    Calendar(CalendarArgs),
    /// Proof-read a rule file: all mistakes with place and remedy, and its examples run.
    Proof(ProofArgs),
    /// Rewrite a rule file in its one canonical layout, comments kept.
    Tidy(TidyArgs),
    /// Append one checked entry to the log.
    Record(Box<RecordArgs>),
    /// Read frames, shooting days and lens changes off pictures.
    Photos(Box<PhotosArgs>),
}

/// The rules and the tables.
#[derive(Debug, Args)]
pub(crate) struct Files {
    /// The rule file, such as house.lore.
    #[arg(value_name = "RULES")]
    pub rules: String,
    /// The inventory: .csv, .jsonl or .xlsx (file.xlsx#Sheet for another than the first sheet).
    #[arg(long, value_name = "FILE")]
    pub items: String,
    /// The log: .csv, .jsonl or .xlsx.
    #[arg(long, value_name = "FILE")]
    pub log: String,
    #[command(flatten)]
    pub columns: ColumnsArg,
}

#[derive(Debug, Args)]
pub(crate) struct ColumnsArg {
    /// Which heading means which field: when=Date,item="Asset no", or a file of such lines.
    #[arg(long, value_name = "MAPPING")]
    pub columns: Vec<String>,
}

#[derive(Debug, Args)]
pub(crate) struct DueArgs {
    #[command(flatten)]
    pub files: Files,
    /// A date (its end) or an RFC 3339 date-time; now if absent.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// How to print it.
    #[arg(long = "as", value_name = "FORM", default_value = "table")]
    pub form: Form,
    /// Show what is clear as well; json and csv always do.
    #[arg(long)]
    pub all: bool,
    /// Exit with 3 when a row stands so, or worse.
    #[arg(long, value_name = "STANDING")]
    pub fail_on: Option<FailOn>,
    /// List every problem of the data with its place instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Form {
    /// For people.
    Table,
    /// For programs; every row.
    Json,
    /// For spreadsheets; every row.
    Csv,
    /// A page to print, to tick, to read on a phone.
    Html,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum FailOn {
    Due,
    Overdue,
    Grounded,
}

#[derive(Debug, Args)]
pub(crate) struct AheadArgs {
    #[command(flatten)]
    pub files: Files,
    /// A date (its end) or an RFC 3339 date-time; now if absent.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// How many days to look ahead.
    #[arg(long, value_name = "NUMBER", default_value_t = 90, value_parser = clap::value_parser!(u32).range(1..=3660))]
    pub days: u32,
    /// The seed of the draws; the same seed gives the same answer.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub seed: u64,
    /// How to print it.
    #[arg(long = "as", value_name = "FORM", default_value = "table")]
    pub form: Form,
    /// List every problem of the data with its place instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Args)]
pub(crate) struct TripArgs {
    #[command(flatten)]
    pub files: Files,
    /// A date (its end) or an RFC 3339 date-time; now if absent.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// A trip of the log: the ref of its planned entries, or the line of one of them; or describe one with
    /// `--from`, `--to` and `--kit`.
    #[arg(value_name = "TRIP", conflicts_with = "from")]
    pub trip: Option<String>,
    /// The first day of a trip that is not in the log.
    #[arg(long, value_name = "DATE", requires_all = ["to", "kit"])]
    pub from: Option<String>,
    /// Its last day.
    #[arg(long, value_name = "DATE", requires = "from")]
    pub to: Option<String>,
    /// What goes on it: a kit, or an item's id, a model or a kind.
    #[arg(long, value_name = "KIT", requires = "from")]
    pub kit: Option<String>,
    /// What the rules call it.
    #[arg(long, value_name = "EVENT", default_value = "trip", requires = "from")]
    pub event: String,
    /// A condition, such as dust; several joined by `;` or given again.
    #[arg(long = "in", value_name = "CONDITION", requires = "from")]
    pub conditions: Vec<String>,
    /// The use expected of each item, a day: "lens change 15; frames 800". In place of what the log expects.
    #[arg(long, value_name = "USES")]
    pub expect: Option<String>,
    /// What falls due on the way with less chance than so many percent is left out.
    #[arg(long, value_name = "PERCENT", default_value_t = 10, value_parser = clap::value_parser!(u8).range(1..=100))]
    pub chance: u8,
    /// The seed of the forecasts' draws.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub seed: u64,
    /// How to print it.
    #[arg(long = "as", value_name = "FORM", default_value = "table")]
    pub form: Form,
    /// List every problem of the data with its place instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Args)]
pub(crate) struct WhyArgs {
    #[command(flatten)]
    pub files: Files,
    /// A date (its end) or an RFC 3339 date-time; now if absent.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// The item's id.
    #[arg(value_name = "ITEM")]
    pub item: String,
    /// The task; every task of the item if absent.
    #[arg(value_name = "TASK")]
    pub task: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct CalendarArgs {
    #[command(flatten)]
    pub files: Files,
    /// A date (its end) or an RFC 3339 date-time; now if absent.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// Write an all-day event beside each task, for calendars that show no tasks.
    #[arg(long)]
    pub events: bool,
    /// Leave out what falls due more than so many days ahead.
    #[arg(long, value_name = "NUMBER")]
    pub days: Option<u32>,
    /// The file to write, such as kit.ics; standard output if absent or `-`.
    #[arg(long, value_name = "FILE")]
    pub out: Option<String>,
    /// List every problem of the data with its place instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Args)]
pub(crate) struct ProofArgs {
    /// The rule file, such as house.lore.
    #[arg(value_name = "RULES")]
    pub rules: String,
    /// An inventory to hold the rules against.
    #[arg(long, value_name = "FILE")]
    pub items: Option<String>,
    /// A log to hold the rules against.
    #[arg(long, value_name = "FILE")]
    pub log: Option<String>,
    #[command(flatten)]
    pub columns: ColumnsArg,
}

#[derive(Debug, Args)]
pub(crate) struct TidyArgs {
    /// The rule file, such as house.lore.
    #[arg(value_name = "RULES")]
    pub rules: String,
    /// Print the tidy text and leave the file as it is.
    #[arg(long)]
    pub show: bool,
}

#[derive(Debug, Args)]
pub(crate) struct RecordArgs {
    #[command(flatten)]
    pub files: Files,
    /// An item's id, or a kit, a model or a kind.
    #[arg(value_name = "ITEM")]
    pub item: String,
    /// What happened: a use, a task that was done, `finding`, `received`, `void` …
    #[arg(value_name = "EVENT")]
    pub event: String,
    /// When it happened or began: a date or a date-time; now if absent.
    #[arg(long, value_name = "WHEN")]
    pub when: Option<String>,
    /// When it ended, for a trip, a shoot, a spell of weather.
    #[arg(long, value_name = "WHEN")]
    pub until: Option<String>,
    /// How much or how often; 1 if absent.
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    pub amount: Option<String>,
    /// What a counter or a gauge shows.
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    pub reading: Option<String>,
    /// The unit of the amount or reading.
    #[arg(long, value_name = "NAME")]
    pub unit: Option<String>,
    /// A condition, such as dust; several joined by `;` or given again.
    #[arg(long = "in", value_name = "CONDITION")]
    pub conditions: Vec<String>,
    /// A finding, such as fraying; several joined by `;` or given again.
    #[arg(long, value_name = "FINDING")]
    pub found: Vec<String>,
    /// The use a plan expects of each item, a day: "lens change 15; frames 800".
    #[arg(long, value_name = "USES")]
    pub expect: Option<String>,
    /// What it refers to: a firmware version, the id of an entry that `void` takes out.
    #[arg(long = "ref", value_name = "TEXT")]
    pub reference: Option<String>,
    /// The entry's own id.
    #[arg(long, value_name = "ID")]
    pub id: Option<String>,
    /// Who did it.
    #[arg(long, value_name = "WHO")]
    pub by: Option<String>,
    /// Anything else.
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct PhotosArgs {
    /// Folders of pictures, with all folders below them.
    #[arg(value_name = "FOLDER", required = true)]
    pub folders: Vec<std::path::PathBuf>,
    /// The inventory; its columns `serial` and `model` say which body and lens is which item.
    #[arg(long, value_name = "FILE")]
    pub items: String,
    /// The log to which new entries are added; without it they are printed as csv.
    #[arg(long, value_name = "FILE")]
    pub log: Option<String>,
    /// Print the entries that would be added and leave the log as it is.
    #[arg(long)]
    pub show: bool,
    #[command(flatten)]
    pub columns: ColumnsArg,
    /// The time zone of pictures that give no offset from UTC, such as Europe/Lisbon; that of the rules if absent.
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,
    /// By how much the clock of a body was slow (+) or fast (-), such as C1=+1h or C2=-2m30s.
    #[arg(long, value_name = "ITEM=SPAN", allow_hyphen_values = true)]
    pub shift: Vec<String>,
    /// A condition by what the body measured, such as "cold: temperature below 0"; also humidity, pressure, depth.
    #[arg(long, value_name = "CONDITION")]
    pub mark: Vec<String>,
    /// Follow links to other folders and files.
    #[arg(long)]
    pub follow_links: bool,
    /// Read pictures again that were read for this log before; the file LOG.pictures beside it lists them.
    #[arg(long)]
    pub again: bool,
    /// List every problem of the pictures instead of a summary.
    #[arg(long)]
    pub problems: bool,
}
