//! From files to checked text: sizes, encoding, YAML and CSV with every place known.

mod csv;
mod files;
mod original;
mod read;
mod text;
pub mod write;
mod yaml;

pub use self::csv::{Table, TableRow};
pub use files::{Disk, Files, Memory};
pub use original::{Edit, Original, edited};
pub use read::{Fields, entries, kind_of, list, text_of, word};
pub use text::{Kind, load};
pub use yaml::{Node, Value, parse, parse_shipped};
