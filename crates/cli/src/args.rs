//! The arguments of the command line.

use clap::{Args, Parser, Subcommand, ValueEnum};

/// What is due on which equipment, and why: from house rules, an inventory and a log.
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
    /// List what is due on which item, the worst first.
    Due(DueArgs),
    /// Forecast what will fall due, and when: the dates with a chance of 10, 50 and 90 %.
    Ahead(AheadArgs),
    /// List what a trip needs: before it, on the way, on return, in the bag; and what stays at home.
    Trip(Box<TripArgs>),
    /// Explain in full why a task is due or not: the rule, each part with its count, the entry that tipped it.
    Why(WhyArgs),
    /// Write whatever has a date to a calendar file (iCalendar), one to-do for each row.
    Calendar(CalendarArgs),
    /// Proofread a rule file: report every mistake with its place and remedy, and run the examples.
    Proof(ProofArgs),
    /// Rewrite a rule file in its canonical layout; comments are kept.
    Tidy(TidyArgs),
    /// Append one checked entry to the log.
    Record(Box<RecordArgs>),
    /// Read frames, shooting days and lens changes from pictures.
    Photos(Box<PhotosArgs>),
}

/// The rules and the tables.
#[derive(Debug, Args)]
pub(crate) struct Files {
    /// The rule file, such as house.lore.
    #[arg(value_name = "RULES")]
    pub rules: String,
    /// The inventory: .csv, .jsonl or .xlsx (file.xlsx#Sheet for a sheet other than the first).
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
    /// Which heading means which field: when=Date,item="Asset no", or a file with such lines.
    #[arg(long, value_name = "MAPPING")]
    pub columns: Vec<String>,
}

#[derive(Debug, Args)]
pub(crate) struct DueArgs {
    #[command(flatten)]
    pub files: Files,
    /// The moment to ask about: a date (its end) or an RFC 3339 date-time; now by default.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// The form of the output.
    #[arg(long = "as", value_name = "FORM", default_value = "table")]
    pub form: OutputForm,
    /// Also list what is clear; json and csv always do.
    #[arg(long)]
    pub all: bool,
    /// Exit with code 3 if any row has this standing or a worse one.
    #[arg(long, value_name = "STANDING")]
    pub fail_on: Option<FailOn>,
    /// List every problem in the data with its place, instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum OutputForm {
    /// For reading on a screen.
    Table,
    /// For programs; every row.
    Json,
    /// For spreadsheets; every row.
    Csv,
    /// A page to print and tick off, or to read on a phone.
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
    /// The moment to ask about: a date (its end) or an RFC 3339 date-time; now by default.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// How many days to look ahead.
    #[arg(long, value_name = "NUMBER", default_value_t = 90, value_parser = clap::value_parser!(u32).range(1..=3660))]
    pub days: u32,
    /// The seed for the random draws; the same seed gives the same answer.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub seed: u64,
    /// The form of the output.
    #[arg(long = "as", value_name = "FORM", default_value = "table")]
    pub form: OutputForm,
    /// List every problem in the data with its place, instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Args)]
pub(crate) struct TripArgs {
    #[command(flatten)]
    pub files: Files,
    /// The moment to ask about: a date (its end) or an RFC 3339 date-time; now by default.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// A trip in the log: the ref of its planned entries, or the line of one of them. Or describe a trip with
    /// `--from`, `--to` and `--kit`.
    #[arg(value_name = "TRIP", conflicts_with = "from")]
    pub trip: Option<String>,
    /// The first day of a trip that is not in the log.
    #[arg(long, value_name = "DATE", requires_all = ["to", "kit"])]
    pub from: Option<String>,
    /// Its last day.
    #[arg(long, value_name = "DATE", requires = "from")]
    pub to: Option<String>,
    /// What goes along: a kit, or an item's id, a model or a kind.
    #[arg(long, value_name = "KIT", requires = "from")]
    pub kit: Option<String>,
    /// The event that the rules know it by.
    #[arg(long, value_name = "EVENT", default_value = "trip", requires = "from")]
    pub event: String,
    /// A condition, such as dust; for several, repeat the option or separate them with `;` or `,`.
    #[arg(long = "in", value_name = "CONDITION", requires = "from")]
    pub conditions: Vec<String>,
    /// The use expected of each item per day, instead of what the log expects: "lens change 15; frames 800".
    #[arg(long, value_name = "USES")]
    pub expect: Option<String>,
    /// Leave out what falls due on the way with a lower chance than this.
    #[arg(long, value_name = "PERCENT", default_value_t = 10, value_parser = clap::value_parser!(u8).range(1..=100))]
    pub chance: u8,
    /// The seed for the random draws of the forecasts.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub seed: u64,
    /// The form of the output.
    #[arg(long = "as", value_name = "FORM", default_value = "table")]
    pub form: OutputForm,
    /// List every problem in the data with its place, instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Args)]
pub(crate) struct WhyArgs {
    #[command(flatten)]
    pub files: Files,
    /// The moment to ask about: a date (its end) or an RFC 3339 date-time; now by default.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// The item's id.
    #[arg(value_name = "ITEM")]
    pub item: String,
    /// The task; every task of the item by default.
    #[arg(value_name = "TASK")]
    pub task: Option<String>,
}

#[derive(Debug, Args)]
pub(crate) struct CalendarArgs {
    #[command(flatten)]
    pub files: Files,
    /// The moment to ask about: a date (its end) or an RFC 3339 date-time; now by default.
    #[arg(long, value_name = "WHEN")]
    pub at: Option<String>,
    /// Also write an all-day event for each to-do, for calendars that do not show to-dos.
    #[arg(long)]
    pub events: bool,
    /// Leave out what falls due more than this many days ahead.
    #[arg(long, value_name = "NUMBER")]
    pub days: Option<u32>,
    /// The file to write, such as kit.ics; standard output by default or with `-`.
    #[arg(long, value_name = "FILE")]
    pub out: Option<String>,
    /// List every problem in the data with its place, instead of a summary.
    #[arg(long)]
    pub problems: bool,
}

#[derive(Debug, Args)]
pub(crate) struct ProofArgs {
    /// The rule file, such as house.lore.
    #[arg(value_name = "RULES")]
    pub rules: String,
    /// Correct every mistake that has one correction only, and write the file.
    #[arg(long)]
    pub mend: bool,
    /// With --mend: print the corrected text and leave the file unchanged.
    #[arg(long, requires = "mend")]
    pub show: bool,
    /// An inventory to check the names in the rules against.
    #[arg(long, value_name = "FILE")]
    pub items: Option<String>,
    /// A log to check the names in the rules against.
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
    /// Print the tidy text and leave the file unchanged.
    #[arg(long)]
    pub show: bool,
}

#[derive(Debug, Args)]
pub(crate) struct RecordArgs {
    #[command(flatten)]
    pub files: Files,
    /// An item's id, a kit, a model or a kind, then what happened: a use, a task that was done, `finding`, `received`,
    /// `void` and so on. Several words need no quotes: C1 inspect sensor.
    #[arg(value_names = ["ITEM", "EVENT"], num_args = 2.., required = true)]
    pub words: Vec<String>,
    /// When it happened or began: a date, a date-time, today, yesterday, "last Friday"; today by default.
    #[arg(long, value_name = "WHEN")]
    pub when: Option<String>,
    /// When it ended, for example a trip, a shoot or a spell of weather.
    #[arg(long, value_name = "WHEN")]
    pub until: Option<String>,
    /// How much or how often; 1 by default.
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    pub amount: Option<String>,
    /// What a counter or a gauge shows.
    #[arg(long, value_name = "NUMBER", allow_hyphen_values = true)]
    pub reading: Option<String>,
    /// The unit of the amount or reading.
    #[arg(long, value_name = "NAME")]
    pub unit: Option<String>,
    /// A condition, such as dust; for several, repeat the option or separate them with `;` or `,`.
    #[arg(long = "in", value_name = "CONDITION")]
    pub conditions: Vec<String>,
    /// A finding, such as fraying; for several, repeat the option or separate them with `;` or `,`.
    #[arg(long, value_name = "FINDING")]
    pub found: Vec<String>,
    /// The use that a plan expects of each item per day: "lens change 15; frames 800".
    #[arg(long, value_name = "USES")]
    pub expect: Option<String>,
    /// What it refers to, such as a firmware version, or the id of the entry that `void` cancels.
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
    /// Record a finding or a condition that nothing knows, or a task that will only be done later.
    #[arg(long)]
    pub as_it_is: bool,
    /// Begin the log if there is none.
    #[arg(long)]
    pub new: bool,
}

#[derive(Debug, Args)]
pub(crate) struct PhotosArgs {
    /// Folders of pictures; all folders below them are searched too.
    #[arg(value_name = "FOLDER", required = true)]
    pub folders: Vec<std::path::PathBuf>,
    /// The inventory; its columns `serial` and `model` show which item a body or lens is.
    #[arg(long, value_name = "FILE")]
    pub items: String,
    /// The log to add new entries to; without it they are printed as csv.
    #[arg(long, value_name = "FILE")]
    pub log: Option<String>,
    /// Print the entries that would be added and leave the log unchanged.
    #[arg(long)]
    pub show: bool,
    #[command(flatten)]
    pub columns: ColumnsArg,
    /// The time zone of pictures that give no offset from UTC, such as Europe/Lisbon; by default that of the rules.
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,
    /// How much the clock of a body was slow (+) or fast (-), such as C1=+1h or C2=-2m30s.
    #[arg(long, value_name = "ITEM=SPAN", allow_hyphen_values = true)]
    pub shift: Vec<String>,
    /// A condition by what the body measured: "cold: temperature below 0"; also humidity, pressure, depth.
    #[arg(long, value_name = "CONDITION")]
    pub mark: Vec<String>,
    /// Follow links to other folders and files.
    #[arg(long)]
    pub follow_links: bool,
    /// Read all pictures, even those read for this log before, which the file LOG.pictures beside it lists.
    #[arg(long)]
    pub again: bool,
    /// List every problem with the pictures, instead of a summary.
    #[arg(long)]
    pub problems: bool,
}
