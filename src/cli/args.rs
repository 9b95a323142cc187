//! What stands on the command line. Only clap's types, nothing checked.

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// The right volume of the right mix for the trays of a sowing day.
///
/// Put a week's sowings and a recipe in parts into short text files; the sheet says
/// what to fill, what to mix for whom, and what to watch out for.
#[derive(Debug, Parser)]
#[command(name = "trayful", version, max_term_width = 80, subcommand_required = true, arg_required_else_help = true)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
    #[command(flatten)]
    pub(super) common: Common,
}

/// Options of every command.
#[derive(Args, Debug)]
pub(super) struct Common {
    /// The form of the result.
    #[arg(long, global = true, value_enum, default_value_t, value_name = "FORM")]
    pub(super) format: FormatName,
    /// Write the result to a file, whole or not at all.
    #[arg(long, short, global = true, value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
    /// The units of the result; files and options take either.
    #[arg(long, global = true, value_enum, default_value_t, value_name = "UNITS")]
    pub(super) units: UnitsName,
    /// Colour on a terminal (NO_COLOR is honoured).
    #[arg(long, global = true, value_enum, default_value_t, value_name = "WHEN")]
    pub(super) color: ColorWhen,
}

/// Forms of a result.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum FormatName {
    #[default]
    Text,
    Markdown,
    Json,
    Csv,
    Html,
}

/// Units of a result.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum UnitsName {
    #[default]
    Metric,
    Us,
}

/// When to colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum ColorWhen {
    #[default]
    Auto,
    Always,
    Never,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Plan a week: trays, batches and what goes into them.
    Plan(PlanArgs),
    /// Scale one recipe to trays or to a volume, without a week file.
    Scale(ScaleArgs),
    /// Check files and say what is wrong with them.
    Check(CheckArgs),
    /// List what is known of recipes, trays, crops or ingredients.
    List(ListArgs),
    /// Show all that is known under a name, each value with its source.
    Show(ShowArgs),
}

#[derive(Args, Debug)]
pub(super) struct PlanArgs {
    /// The week file (- for standard input).
    #[arg(value_name = "WEEK.yaml")]
    pub(super) week: PathBuf,
    /// Take this ingredient where a recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT")]
    pub(super) wanted: Vec<String>,
    /// Show every step of the volumes and the sources.
    #[arg(long)]
    pub(super) explain: bool,
}

#[derive(Args, Debug)]
pub(super) struct ScaleArgs {
    /// A recipe by name, or a recipe file.
    #[arg(value_name = "RECIPE")]
    pub(super) recipe: String,
    /// So many trays of a kind, as in 72-cell=4.
    #[arg(long = "tray", value_name = "KIND=N", required_unless_present = "make", conflicts_with = "make")]
    pub(super) trays: Vec<String>,
    /// A volume of finished mix instead of trays.
    #[arg(long, value_name = "VOLUME")]
    pub(super) make: Option<String>,
    /// The crop it is for; a host of mycorrhiza if none is named.
    #[arg(long, value_name = "CROP")]
    pub(super) crop: Option<String>,
    /// Take this ingredient where the recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT")]
    pub(super) wanted: Vec<String>,
    /// Show every step of the volumes and the sources.
    #[arg(long)]
    pub(super) explain: bool,
}

#[derive(Args, Debug)]
pub(super) struct CheckArgs {
    /// The files.
    #[arg(value_name = "FILE", required = true)]
    pub(super) files: Vec<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct ListArgs {
    /// What to list; all of it if nothing is named.
    #[arg(value_name = "KIND", value_parser = crate::report::KINDS)]
    pub(super) kind: Option<String>,
}

#[derive(Args, Debug)]
pub(super) struct ShowArgs {
    /// The name of a recipe, tray, crop or ingredient.
    #[arg(value_name = "NAME", required = true, num_args = 1..)]
    pub(super) name: Vec<String>,
}
