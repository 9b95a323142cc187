//! From files to checked text: sizes, encoding, YAML and CSV with every place known.

mod csv;
mod files;
mod original;
mod read;
mod text;
mod value;
pub mod write;
mod yaml;

pub use self::csv::{Table, TableRow};
pub use files::{Disk, Files, Memory};
pub use original::{Edit, Original, edited};
pub use read::{Fields, Stated, entries, kind_of, list, text_of};
pub use text::{Kind, load};
pub(crate) use value::words;
pub use value::{FromNode, FromText, PerGram, Positive, PositiveShare, Share, argument, value, word};
pub use yaml::{Node, Value, parse, parse_shipped};
