//! What a book answers: one row per item and task, each with the account of its rules.
