//! The command line, for those who have it from the wheel.

use crate::errors::detached;
use kitlore_cli::{Host, run};
use pyo3::prelude::*;
use std::io::{BufWriter, Write, stderr, stdout};

/// Runs one command on the process's own standard output and error; `args` begins with the program's name.
#[pyfunction]
pub(crate) fn command(
    py: Python<'_>,
    args: Vec<String>,
    width: usize,
    colour_out: bool,
    colour_err: bool,
) -> PyResult<u8> {
    detached(py, || {
        let mut out = BufWriter::new(stdout().lock());
        let mut err = stderr().lock();
        let now = chrono::Utc::now().into();
        let code = run(args, &mut Host { out: &mut out, err: &mut err, now, width, colour_out, colour_err });
        match out.flush() {
            Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => 1,
            _ => code,
        }
    })
}
