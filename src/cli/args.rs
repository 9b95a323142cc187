//! What stands on the command line. Only clap's types, nothing checked.

use super::known::Known;
use crate::moment::Day;
use crate::report::Part;
use crate::source::{FromText, words};
use crate::units::{UnitSystem, one_of};
use crate::week::MOST_WANTED;
use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Args, ColorChoice, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;
use std::path::PathBuf;

/// Reads one of a few words.
fn word_of<T: Copy + Send + Sync + 'static>(words: &'static [(&'static str, T)]) -> impl TypedValueParser<Value = T> {
    PossibleValuesParser::new(words.iter().map(|(word, _)| *word)).try_map(|word| one_of(&word, words))
}

/// What stands under the help of a command: two examples of it.
macro_rules! examples {
    ($one:literal, $other:literal) => {
        concat!("Examples:\n  trayful ", $one, "\n  trayful ", $other)
    };
}

/// The right volume of the right mix for the trays of a sowing day.
///
/// Put a week's sowings and a recipe in parts into short text files; the sheet says
/// what to fill, which mix is for which crops, and what to watch out for.
#[derive(Debug, Parser)]
#[command(name = "trayful", version, max_term_width = 80, subcommand_required = true)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
    #[command(flatten)]
    pub(super) common: Common,
}

// Options of every command.
#[derive(Args, Debug)]
pub(super) struct Common {
    /// The form of the result: text unless stated; labels are a page to print.
    #[arg(long, global = true, value_enum, value_name = "FORM")]
    pub(super) format: Option<FormatName>,
    /// Write the result to a file, whole or not at all (- for standard output).
    #[arg(long, short, global = true, value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
    /// Let `--output` write over a file that is there, unless the command works with it.
    #[arg(long, global = true)]
    pub(super) replace: bool,
    /// The units of the result, metric unless stated; files and options take either.
    #[arg(long, global = true, value_parser = word_of(UnitSystem::WORDS), value_name = "UNITS")]
    pub(super) units: Option<UnitSystem>,
    /// Colour on a terminal (NO_COLOR is honoured).
    #[arg(long, global = true, value_enum, default_value_t, value_name = "WHEN")]
    pub(super) color: ColorChoice,
    /// The time taken as now, for tests.
    #[arg(long, global = true, hide = true, value_name = "TIMESTAMP")]
    pub(super) now: Option<jiff::Timestamp>,
}

/// Forms of a result.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum FormatName {
    Text,
    Markdown,
    Json,
    Csv,
    Html,
    Ics,
}

// The arguments of a command that is not given are not built.
#[derive(Debug, Subcommand)]
#[command(defer = true)]
pub(super) enum Command {
    /// Plan a week, or a day of a season: trays, batches and what goes into them.
    #[command(after_help = examples!("plan week.yaml", "plan week.yaml --format html --output sheet.html"))]
    Plan(PlanArgs),
    /// Plan a season: when to sow, what stands on the rack week by week, what to buy in all.
    ///
    /// Each sowing says when its plants go out; the days to sow follow from that, chosen so that all
    /// fits on the rack and the days of work are few. Each day is a week of its own:
    /// `trayful plan SEASON.yaml` prints the sheet of the next one.
    #[command(after_help = examples!("season season.yaml --today 2027-01-04", "season season.yaml --today 2027-01-04 --write weeks"))]
    Season(SeasonArgs),
    /// Scale one recipe to trays or to a volume, without a week file.
    #[command(after_help = examples!("scale everyday --tray 72-cell=4 --crop kale", "scale everyday --make \"60 L\" --use coir"))]
    Scale(ScaleArgs),
    /// Work out the calcium baths for coir.
    #[command(after_help = examples!("soak soak.yaml", "soak --product \"5 kg block\" --count 2 --sold-as washed"))]
    Soak(Box<SoakArgs>),
    /// Work out a liquid feed.
    #[command(after_help = examples!("feed week.yaml --analysis 3-1-2 --rate \"4 mL/L\" --by-volume", "feed --analysis 3-1-2 --ppm 60 --water \"9 L\" --with \"fish: 5-1-1\""))]
    Feed(Box<FeedArgs>),
    /// Enter a bucket test into a recipe file.
    #[command(after_help = examples!("yield recipe.yaml --before \"12 L\" --after \"10.5 L\"", "yield recipe.yaml --before \"3 US gal\" --after \"2.6 US gal\""))]
    Yield(YieldArgs),
    /// See how many trays what is at hand fills, or whether it is enough for a week.
    #[command(after_help = examples!("fill week.yaml --have inoculant=\"20 g\"", "fill peat-lite-A --tray 72-cell --have peat=60L --have vermiculite=60L"))]
    Fill(FillArgs),
    /// Find what behaves nearest in place of a part of a recipe.
    ///
    /// The other parts stay; one or two ingredients of those at hand take the missing parts, never
    /// raw soil or fresh bark, and castings with compost up to a fifth of the mix. Physics, mostly of
    /// remembered figures: try one tray first.
    #[command(after_help = examples!("swap everyday --without vermiculite", "swap everyday --without vermiculite --have bark --write own.yaml"))]
    Swap(SwapArgs),
    /// Make labels for the trays of a week: a page to print and cut, or a table.
    #[command(after_help = examples!("labels week.yaml --output labels.html", "labels week.yaml --format csv"))]
    Labels(LabelsArgs),
    /// Take what a week used out of its stock file, with a log.
    ///
    /// What the batches, the scoops and the covering used is taken out of the week's stock
    /// file, and each amount written to a log beside it (shed.log.csv beside shed.yaml). An
    /// empty hidden file beside them (.shed.yaml.lock) keeps two runs from writing at once;
    /// it stays there, and may be deleted while none is running.
    #[command(after_help = examples!("mixed week.yaml --bought planned", "mixed week.yaml --undo"))]
    Mixed(MixedArgs),
    /// Check files and say what is wrong with them.
    #[command(after_help = examples!("check week.yaml", "check recipe.yaml stock.yaml"))]
    Check(CheckArgs),
    /// List what is known of recipes, trays, crops, ingredients or salts.
    #[command(after_help = examples!("list crops", "list recipes --format csv"))]
    List(ListArgs),
    /// Show all that is known under a name, each value with its source; or how a mix behaves in a tray.
    #[command(after_help = examples!("show kale", "show everyday --tray 128-cell --tray 288-cell --with \"fine seed\""))]
    Show(ShowArgs),
    /// Print a commented file to start from.
    #[command(after_help = examples!("new week --output week.yaml", "new stock --output stock.yaml"))]
    New(NewArgs),
    /// Print the JSON Schema of a kind of file, by which an editor completes and checks.
    ///
    /// Many editors take it by a line at the head of a file:
    /// `# yaml-language-server: $schema=week.schema.json`
    #[command(after_help = examples!("schema week --output week.schema.json", "schema recipe"))]
    Schema {
        /// The kind of file.
        #[arg(value_parser = crate::schema::KINDS)]
        kind: String,
    },
    /// Print completions for a shell.
    #[command(after_help = examples!("completions bash --output trayful.bash", "completions fish --output trayful.fish"))]
    Completions {
        /// The shell. Elvish and PowerShell complete commands and options, but no names of crops, trays and recipes.
        shell: clap_complete::Shell,
    },
    /// Print the manual page.
    #[command(after_help = examples!("man", "man --output trayful.1"))]
    Man,
}

impl Command {
    /// An option that stands more often than can be meant, and how often it may stand.
    pub(super) fn too_often(&self) -> Option<(&'static str, usize)> {
        const MOST: usize = 1000;
        let (options, wanted): (&[(&'static str, &Vec<String>)], &[String]) = match self {
            Self::Plan(args) => (&[], &args.wanted),
            Self::Labels(args) => (&[], &args.wanted),
            Self::Season(args) => (&[], &args.wanted),
            Self::Scale(args) => (&[("--tray", &args.trays)], &args.wanted),
            Self::Show(args) => (&[("--tray", &args.trays)], &args.wanted),
            Self::Soak(args) => (&[], &args.wanted),
            Self::Swap(args) => (&[("--have", &args.have)], &args.wanted),
            Self::Fill(args) => (&[("--have", &args.have)], &args.wanted),
            Self::Feed(args) => (&[("--with", &args.with)], &[]),
            Self::Mixed(args) => (&[("--bought", &args.bought), ("--left", &args.left)], &args.wanted),
            _ => (&[], &[]),
        };
        let often = options.iter().find(|(_, texts)| texts.len() > MOST).map(|(option, _)| (*option, MOST));
        often.or((wanted.len() > MOST_WANTED).then_some(("--use", MOST_WANTED)))
    }

    /// Whether it writes files in addition to the result, which `--replace` is for.
    pub(super) fn writes_files(&self) -> bool {
        matches!(self, Self::Season(SeasonArgs { write: Some(_), .. }) | Self::Swap(SwapArgs { write: Some(_), .. }))
    }

    /// Whether the result is text and nothing else: no report with amounts in it.
    pub(super) fn only_text(&self) -> bool {
        use Command::{Check, Completions, Man, New, Schema, Season, Yield};
        let is_done = |args: &SeasonArgs| args.write.is_some() || args.sown.is_some();
        matches!(self, Season(args) if is_done(args))
            || matches!(self, Yield(_) | Check(_) | New(_) | Schema { .. } | Completions { .. } | Man)
    }
}

#[derive(Args, Debug)]
pub(super) struct NewArgs {
    /// What to start.
    #[arg(value_parser = word_of(StarterKind::WORDS))]
    pub(super) kind: StarterKind,
    /// Fill it in by questions, and write it to KIND.yaml or `--output`.
    #[arg(long)]
    pub(super) ask: bool,
}

words! {
    /// Files that can be started.
    StarterKind {
        Place = "place",
        Week = "week",
        Season = "season",
        Recipe = "recipe",
        Stock = "stock",
        Soak = "soak",
    }
}

// A doc comment on what is flattened would be the head of the help of every command that takes it.

// Which day of a season.
#[derive(Args, Debug)]
pub(super) struct DayArgs {
    /// The day of a season, as in 2027-02-13; the next one unless it is named.
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) day: Option<Date>,
    #[command(flatten)]
    pub(super) from: FromArgs,
}

// From which day on a season is planned.
#[derive(Args, Debug)]
pub(super) struct FromArgs {
    /// Plan a season as on this day, in place of today.
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub(super) today: Option<Date>,
}

fn day(text: &str) -> Result<Date, String> {
    Day::from_text(text).map(|day| day.value.0).map_err(|_| format!("expected {}", Day::EXPECTED))
}

#[derive(Args, Debug)]
pub(super) struct SeasonArgs {
    /// The season file (- for standard input).
    #[arg(value_name = "SEASON.yaml")]
    pub(super) season: PathBuf,
    #[command(flatten)]
    pub(super) from: FromArgs,
    /// Write a week file for each day into this folder.
    #[arg(long, value_name = "FOLDER")]
    pub(super) write: Option<PathBuf>,
    /// Write `sow: DATE` into the sowings of this day: they have been sown. A table of sowings is edited by hand.
    #[arg(long, value_name = "DATE", value_parser = day, conflicts_with = "write")]
    pub(super) sown: Option<Date>,
    /// Take this ingredient where a recipe offers a choice.
    #[arg(long = "use", conflicts_with_all = ["write", "sown"], value_name = "INGREDIENT", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
}

#[derive(Args, Debug)]
pub(super) struct PlanArgs {
    /// The week file, or the season of which it is a day (- for standard input).
    #[arg(value_name = "FILE.yaml")]
    pub(super) week: PathBuf,
    #[command(flatten)]
    pub(super) day: DayArgs,
    /// Take this ingredient where a recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
    /// Show every step of the volumes and the sources.
    #[arg(long)]
    pub(super) explain: bool,
    /// Only these parts of the sheet, as in bench,sowing.
    #[arg(long, value_parser = word_of(PARTS), value_delimiter = ',', value_name = "PARTS")]
    pub(super) only: Vec<Part>,
}

/// The parts of the sheet, as they are asked for.
const PARTS: &[(&str, Part)] = &[
    ("summary", Part::Summary),
    ("beforehand", Part::Beforehand),
    ("bench", Part::Bench),
    ("sowing", Part::Sowing),
    ("afterwards", Part::Afterwards),
    ("notes", Part::Notes),
    ("care", Part::Care),
];

#[derive(Args, Debug)]
pub(super) struct LabelsArgs {
    /// The week file, or the season of which it is a day (- for standard input).
    #[arg(value_name = "FILE.yaml")]
    pub(super) week: PathBuf,
    #[command(flatten)]
    pub(super) day: DayArgs,
    /// Take this ingredient where a recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT")]
    pub(super) wanted: Vec<String>,
}

#[derive(Args, Debug)]
#[command(group(clap::ArgGroup::new("how-much").args(["trays", "make"]).required(true)))]
pub(super) struct ScaleArgs {
    /// A recipe by name, or a recipe file.
    #[arg(value_name = "RECIPE", value_parser = Known::Recipes, hide_possible_values = true)]
    pub(super) recipe: String,
    /// So many trays of a kind, as in 72-cell=4.
    #[arg(long = "tray", value_name = "KIND=N", value_parser = Known::Trays, hide_possible_values = true)]
    pub(super) trays: Vec<String>,
    /// A volume of finished mix instead of trays.
    #[arg(long, value_name = "VOLUME")]
    pub(super) make: Option<String>,
    /// The crop it is for; a host of mycorrhiza if none is named.
    #[arg(long, value_name = "CROP", value_parser = Known::Crops, hide_possible_values = true)]
    pub(super) crop: Option<String>,
    /// Take this ingredient where the recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
    /// A place file, whose facts hold where the command line says nothing.
    #[arg(long, value_name = "PLACE.yaml")]
    pub(super) place: Option<PathBuf>,
    /// Show every step of the volumes and the sources.
    #[arg(long)]
    pub(super) explain: bool,
}

#[derive(Args, Debug)]
#[command(group(clap::ArgGroup::new("amount").args(["file", "product", "dry", "loose"]).required(true)))]
pub(super) struct SoakArgs {
    /// A soak file, or a week or a season's day whose coir is to be soaked; else use the options.
    #[arg(value_name = "FILE.yaml")]
    pub(super) file: Option<PathBuf>,
    #[command(flatten)]
    pub(super) day: DayArgs,
    /// What the coir is sold in, by its label: "5 kg block", "650 g brick".
    #[arg(long, value_name = "LABEL")]
    pub(super) product: Option<String>,
    /// How many of these.
    #[arg(long, value_name = "N", requires = "product")]
    pub(super) count: Option<String>,
    /// Dry mass of the coir instead.
    #[arg(long, value_name = "MASS")]
    pub(super) dry: Option<String>,
    /// Loose volume of the coir instead.
    #[arg(long, value_name = "VOLUME")]
    pub(super) loose: Option<String>,
    /// What the bag says: buffered, washed, mild or none.
    #[arg(long, value_name = "CLAIM", conflicts_with = "file")]
    pub(super) sold_as: Option<String>,
    /// The salt, by formula or by the name on its bag.
    #[arg(long, value_name = "SALT", conflicts_with = "file")]
    pub(super) salt: Option<String>,
    /// Calcium by the salt's label, as in "19 %".
    #[arg(long, value_name = "SHARE", conflicts_with = "file")]
    pub(super) label_ca: Option<String>,
    /// The most sodium and potassium to leave on the sites, as in "15 %".
    #[arg(long, value_name = "SHARE", conflicts_with = "file")]
    pub(super) target: Option<String>,
    /// What wets the dry coir: "water", or its first "bath".
    #[arg(long, value_name = "WITH", conflicts_with = "file")]
    pub(super) hydrate: Option<String>,
    /// Number of soaks.
    #[arg(long, value_name = "N", conflicts_with = "file")]
    pub(super) soaks: Option<String>,
    /// Number of rinses.
    #[arg(long, value_name = "N", conflicts_with = "file")]
    pub(super) rinses: Option<String>,
    /// Hours of each soak.
    #[arg(long, value_name = "HOURS", conflicts_with = "file")]
    pub(super) hours: Option<String>,
    /// Size of the particles, for chips: their soak takes longer.
    #[arg(long, value_name = "SIZE", conflicts_with = "file")]
    pub(super) particles: Option<String>,
    /// When the coir must be ready, as in "2027-03-06 10:00".
    #[arg(long, value_name = "TIME", conflicts_with = "file")]
    pub(super) ready: Option<String>,
    /// Your own tub.
    #[arg(long, value_name = "VOLUME", conflicts_with = "file")]
    pub(super) tub: Option<String>,
    /// A place file, whose facts hold where the command line says nothing.
    #[arg(long, value_name = "PLACE.yaml", conflicts_with = "file")]
    pub(super) place: Option<PathBuf>,
    /// Set other salts and other courses beside it.
    #[arg(long)]
    pub(super) compare: bool,
    /// Take this ingredient where a recipe of the week offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT", requires = "file", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
}

#[derive(Args, Debug)]
#[command(group(clap::ArgGroup::new("strength").required(true).args(["ppm", "rate"])))]
pub(super) struct FeedArgs {
    /// A week whose trays are fed once, or a season whose trays are fed until their plants go out.
    #[arg(value_name = "FILE.yaml", conflicts_with = "water")]
    pub(super) file: Option<PathBuf>,
    /// The fertiliser's analysis, N - P2O5 - K2O in percent.
    #[arg(long, value_name = "N-P-K")]
    pub(super) analysis: String,
    /// Wanted nitrogen, milligrams in a litre.
    #[arg(long, value_name = "PPM", allow_hyphen_values = true)]
    pub(super) ppm: Option<String>,
    /// What a label says the plants get, as in "4 mL/L" or "1 tbsp/US gal": tells what it comes to.
    #[arg(long, value_name = "RATE")]
    pub(super) rate: Option<String>,
    /// The water it is dissolved in; for an injector all of the stock.
    #[arg(long, value_name = "VOLUME")]
    pub(super) water: Option<String>,
    /// The ratio of an injector: 1:200 thins 200 times.
    #[arg(long, value_name = "RATIO", requires = "water")]
    pub(super) injector: Option<String>,
    /// Density of a liquid fertiliser, as in "1.2 g/mL", or of a powder taken by the spoon.
    #[arg(long, value_name = "DENSITY")]
    pub(super) density: Option<String>,
    /// The label's percentages are by volume: grams in 100 mL (w/v).
    #[arg(long, conflicts_with = "density")]
    pub(super) by_volume: bool,
    /// What it is called.
    #[arg(long, value_name = "NAME")]
    pub(super) name: Option<String>,
    /// What a package of it costs, as in "1 L for 12.90".
    #[arg(long, value_name = "PACKAGE for PRICE")]
    pub(super) price: Option<String>,
    /// Another feed to set beside it at equal nitrogen, as in "fish: 5-1-1, 1 L for 12.90, 1.1 g/mL": name and analysis,
    /// and what is known of its price and density, or "by volume".
    #[arg(long, value_name = "FEED")]
    pub(super) with: Vec<String>,
    /// What one watering of a tray takes, in place of what the water in its cells tells.
    #[arg(long, value_name = "VOLUME", requires = "file")]
    pub(super) each_tray: Option<String>,
    /// How often the trays of a season are fed, as in "4 days"; once a week unless stated.
    #[arg(long, value_name = "TIME", requires = "file")]
    pub(super) every: Option<String>,
    #[command(flatten)]
    pub(super) from: FromArgs,
}

#[derive(Args, Debug)]
pub(super) struct FillArgs {
    /// A recipe by name, a recipe file, a week file or a season: until which day does the stock last?
    #[arg(value_name = "RECIPE|FILE.yaml", value_parser = Known::Recipes, hide_possible_values = true)]
    pub(super) what: Option<String>,
    /// A week file: is what is at hand enough for it?
    #[arg(long, value_name = "WEEK.yaml", conflicts_with = "what")]
    pub(super) week: Option<PathBuf>,
    #[command(flatten)]
    pub(super) from: FromArgs,
    /// What is at hand, as in perlite="40 L" or coir="2 x 5 kg block": on top of the stock of `--stock` or of the week
    /// itself, in place of that of its place.
    #[arg(long, value_name = "INGREDIENT=AMOUNT")]
    pub(super) have: Vec<String>,
    /// A stock file with what is at hand.
    #[arg(long, value_name = "FILE")]
    pub(super) stock: Option<PathBuf>,
    /// A place file, whose facts hold where the command line says nothing.
    #[arg(long, value_name = "PLACE.yaml")]
    pub(super) place: Option<PathBuf>,
    /// The kind of tray to fill.
    #[arg(long, value_name = "KIND", value_parser = Known::Trays, hide_possible_values = true)]
    pub(super) tray: Option<String>,
    /// The crop it is for; a host of mycorrhiza if none is named.
    #[arg(long, value_name = "CROP", value_parser = Known::Crops, hide_possible_values = true)]
    pub(super) crop: Option<String>,
    /// Take this ingredient where a recipe offers a choice; else the one at hand.
    #[arg(long = "use", value_name = "INGREDIENT", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
}

#[derive(Args, Debug)]
pub(super) struct SwapArgs {
    /// A recipe by name, or a recipe file.
    #[arg(value_name = "RECIPE", value_parser = Known::Recipes, hide_possible_values = true)]
    pub(super) recipe: String,
    /// The part that is to be left out.
    #[arg(long, value_name = "INGREDIENT", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) without: String,
    /// What is at hand, as in perlite or sand="20 L": on top of the stock of `--stock`, in place of that of the place.
    /// Without either, all that is known.
    #[arg(long, value_name = "INGREDIENT[=AMOUNT]", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) have: Vec<String>,
    /// A stock file with what is at hand.
    #[arg(long, value_name = "FILE")]
    pub(super) stock: Option<PathBuf>,
    /// A place file, whose facts hold where the command line says nothing.
    #[arg(long, value_name = "PLACE.yaml")]
    pub(super) place: Option<PathBuf>,
    /// The kind of tray in which it is to behave as before; 72-cell unless stated.
    #[arg(long, value_name = "KIND", value_parser = Known::Trays, hide_possible_values = true)]
    pub(super) tray: Option<String>,
    /// Take only so much as the amounts at hand are enough for, to make this volume of mix.
    #[arg(long, value_name = "VOLUME")]
    pub(super) make: Option<String>,
    /// Keep the recipe of a choice in this file.
    #[arg(long, value_name = "NAME.yaml")]
    pub(super) write: Option<PathBuf>,
    /// The choice that `--write` keeps.
    #[arg(long, value_name = "NUMBER", default_value = "1", value_parser = clap::value_parser!(u8).range(1..=3), requires = "write")]
    pub(super) choice: u8,
    /// Take this ingredient where the recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
}

#[derive(Args, Debug)]
pub(super) struct MixedArgs {
    /// The week that was mixed, or the season of which it is a day.
    #[arg(value_name = "FILE.yaml")]
    pub(super) week: PathBuf,
    #[command(flatten)]
    pub(super) day: DayArgs,
    /// Take back the last entry of the log, which is of this week: the stock file becomes what it was.
    #[arg(long, conflicts_with_all = ["bought", "again", "left"])]
    pub(super) undo: bool,
    /// With --undo: the amounts were put back by hand, so that only the log is changed.
    #[arg(long, requires = "undo")]
    pub(super) by_hand: bool,
    /// Packages bought for it, as in perlite="1 x 100 L bag"; or `planned`, all that the plan says.
    #[arg(long, value_name = "INGREDIENT=PACKAGES")]
    pub(super) bought: Vec<String>,
    /// Mix that was left over, as in "everyday=6 L", or 2="6 L" of batch 2: it goes into the stock.
    #[arg(long, value_name = "BATCH=AMOUNT")]
    pub(super) left: Vec<String>,
    /// Take it once more, though the log has it already.
    #[arg(long)]
    pub(super) again: bool,
    /// Take this ingredient where a recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
}

#[derive(Args, Debug)]
pub(super) struct YieldArgs {
    /// The recipe file.
    #[arg(value_name = "RECIPE.yaml")]
    pub(super) recipe: String,
    /// Loose ingredients measured into the bucket, as in "12 L".
    #[arg(long, value_name = "VOLUME")]
    pub(super) before: String,
    /// Mix measured out of it, blended and moist.
    #[arg(long, value_name = "VOLUME")]
    pub(super) after: String,
    /// A place file, whose ingredients the recipe may name.
    #[arg(long, value_name = "PLACE.yaml")]
    pub(super) place: Option<PathBuf>,
    /// Write a yield outside 60 to 100 % too.
    #[arg(long)]
    pub(super) anyway: bool,
}

#[derive(Args, Debug)]
pub(super) struct CheckArgs {
    /// The files.
    #[arg(value_name = "FILE", required = true)]
    pub(super) files: Vec<PathBuf>,
    /// A place file, whose ingredients recipes and stock files may name.
    #[arg(long, value_name = "PLACE.yaml")]
    pub(super) place: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct ListArgs {
    /// What to list; all of it if nothing is named.
    #[arg(value_name = "KIND", value_parser = crate::report::KINDS)]
    pub(super) kind: Option<String>,
    /// A place file, whose trays, crops and ingredients are listed too.
    #[arg(long, value_name = "PLACE.yaml")]
    pub(super) place: Option<PathBuf>,
}

#[derive(Args, Debug)]
pub(super) struct ShowArgs {
    /// The name of a recipe, tray, crop, ingredient or salt; with `--tray` a recipe, or a recipe file.
    #[arg(value_name = "NAME", required = true, num_args = 1.., value_parser = Known::All, hide_possible_values = true)]
    pub(super) name: Vec<String>,
    /// Show how the recipe behaves in trays of this kind: air and water, acidity, salts, weight.
    #[arg(long = "tray", value_name = "KIND", value_parser = Known::Trays, hide_possible_values = true)]
    pub(super) trays: Vec<String>,
    /// Set another recipe, by name or as a file, beside it.
    #[arg(long, value_name = "RECIPE", requires = "trays", value_parser = Known::Recipes, hide_possible_values = true)]
    pub(super) with: Option<String>,
    /// As the recipe makes it for this crop.
    #[arg(long, value_name = "CROP", requires = "trays", value_parser = Known::Crops, hide_possible_values = true)]
    pub(super) crop: Option<String>,
    /// Take this ingredient where a recipe offers a choice.
    #[arg(long = "use", value_name = "INGREDIENT", requires = "trays", value_parser = Known::Ingredients, hide_possible_values = true)]
    pub(super) wanted: Vec<String>,
    /// A place file, whose trays, crops and ingredients are known too.
    #[arg(long, value_name = "PLACE.yaml")]
    pub(super) place: Option<PathBuf>,
}
