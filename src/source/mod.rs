//! From files to checked text: sizes, encoding, YAML and CSV with every place known.

mod csv;
mod files;
mod flow;
mod identity;
mod original;
mod read;
mod regular;
mod text;
mod value;
pub mod write;
mod yaml;

pub use self::csv::CsvTable;
pub use files::{Disk, Files, Memory};
pub use flow::{flow, scalar};
pub use identity::{Identity, one_place};
pub use original::{Edit, Original, edited};
pub use read::{Fields, Stated};
pub(crate) use regular::regular_file_if_there;
pub(crate) use text::regular_file;
pub use text::{FileKind, is_standard_input, is_yaml};
pub use value::{
    FromNode, FromText, LayerDepth, Mesh, PerGram, PositiveShare, Prose, Scoop, Share, Tolerance, Tub, Written,
    argument, argument_with_units, entries, kind_of, list, text_of, value,
};
pub(crate) use value::{LONGEST_NAME, above_zero, counts, figures, no_more_than, too_many, words};
pub(crate) use yaml::INTO_A_TABLE;
#[cfg(test)]
pub(crate) use yaml::parse_shipped;
pub use yaml::{Node, Value, parse};
