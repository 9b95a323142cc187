//! Comma-separated values, quoted per RFC 4180.

/// Writes records as lines.
#[must_use]
pub fn render(records: &[Vec<String>]) -> String {
    let mut writer = ::csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    for record in records {
        // Writing to memory cannot fail.
        let _ = writer.write_record(record.iter().map(|cell| plain(cell)));
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// A text that a spreadsheet would take for a formula is marked as text.
fn plain(cell: &str) -> String {
    if cell.starts_with(['=', '@', '+', '-', '\t']) && cell.parse::<f64>().is_err() {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::render;

    #[test]
    fn quotes_what_needs_quotes_and_disarms_formulas() {
        let record = ["a,b", "say \"x\"", "=1+1", "-3.5"].map(str::to_owned).to_vec();
        assert_eq!(render(&[record]), "\"a,b\",\"say \"\"x\"\"\",'=1+1,-3.5\n");
    }
}
