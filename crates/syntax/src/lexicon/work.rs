//! Words that tasks begin with.

/// What is done to equipment.
const WORK: [&str; 60] = [
    "adjust", "back", "balance", "brush", "calibrate", "change", "charge", "check", "clean", "collimate", "condition",
    "copy", "cycle", "degauss", "discharge", "drain", "dry", "empty", "exchange", "fill", "fit", "format", "grease",
    "inspect", "install", "label", "lubricate", "maintain", "measure", "oil", "pack", "polish", "realign", "refill",
    "refit", "register", "relubricate", "remove", "renew", "replace", "reset", "retire", "rinse", "rotate", "send",
    "service", "soak", "sterilise", "swap", "test", "tighten", "treat", "update", "vacuum", "verify", "wash", "wax",
    "wet", "wipe", "write",
];

/// Whether a word begins a task in all likelihood.
pub(crate) fn is_work(word: &str) -> bool {
    WORK.contains(&word)
}
