//! The binary `kitlore`.

use kitlore_cli::{Host, run};
use std::io::{IsTerminal, Write, stderr, stdout};
use std::process::ExitCode;

/// The width where the output is no terminal and `COLUMNS` is not set.
const COLUMNS: usize = 100;

fn main() -> ExitCode {
    let colour = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
        && std::env::var_os("TERM").is_none_or(|term| term != "dumb");
    let asked = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    let terminal = terminal_size::terminal_size().map(|(width, _)| usize::from(width.0));
    let mut out = std::io::BufWriter::new(stdout().lock());
    let mut err = stderr().lock();
    let code = run(
        std::env::args_os(),
        &mut Host {
            out: &mut out,
            err: &mut err,
            now: chrono::DateTime::<chrono::Utc>::from(std::time::SystemTime::now()).into(),
            width: terminal.or(asked).unwrap_or(COLUMNS),
            colour_out: colour && stdout().is_terminal(),
            colour_err: colour && stderr().is_terminal(),
        },
    );
    match out.flush() {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => ExitCode::FAILURE,
        _ => ExitCode::from(code),
    }
}
