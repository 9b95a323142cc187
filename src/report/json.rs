//! JSON for scripts: the fields of the plan format, numbers at full precision.

use crate::printable::is_stray;
use serde::Serialize;
use std::fmt::Write as _;
use std::io::{self, BufWriter, Write};

/// Writes a value over several lines, with a line end.
///
/// # Errors
/// Where it cannot be written.
pub fn write(value: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    // The pieces are small and many; they are gathered whole.
    let mut out = BufWriter::with_capacity(1 << 14, Escaping(out));
    serde_json::to_writer_pretty(&mut out, value)?;
    out.write_all(b"\n")?;
    out.flush()
}

/// Escapes stray characters: they can stand within strings alone, each of which is written in
/// whole characters, and JSON has escapes of its own for them.
struct Escaping<'o>(&'o mut dyn Write);

impl Write for Escaping<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        // All of a piece is looked at fast; below the space JSON escapes by itself.
        let plain = bytes.is_ascii() && !bytes.contains(&0x7f);
        match std::str::from_utf8(bytes) {
            Ok(text) if !plain && text.contains(is_stray) => {
                let mut escaped = String::with_capacity(2 * text.len());
                for c in text.chars() {
                    // Writing to a text cannot fail.
                    let _ =
                        if is_stray(c) { write!(escaped, "\\u{:04x}", u32::from(c)) } else { escaped.write_char(c) };
                }
                self.0.write_all(escaped.as_bytes())?;
            }
            _ => self.0.write_all(bytes)?,
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush()
    }
}

#[cfg(test)]
mod tests {
    use super::write;

    #[test]
    fn stray_characters_are_escaped_and_read_back_as_they_were() {
        let text = "a\u{7f}b\u{9b}c\u{202e}d\u{1b}e\tf ü";
        let mut written = Vec::new();
        write(&text, &mut written).unwrap();
        let written = String::from_utf8(written).unwrap();
        assert_eq!(written, "\"a\\u007fb\\u009bc\\u202ed\\u001be\\tf ü\"\n");
        assert_eq!(serde_json::from_str::<String>(&written).unwrap(), text);
    }
}
