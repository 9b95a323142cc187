//! JSON for scripts: the fields of the plan format, numbers at full precision.

use serde::Serialize;
use std::io::{self, Write};

/// Writes a value over several lines, with a line end.
pub fn write(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, value)?;
    out.write_all(b"\n")
}
