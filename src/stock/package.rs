//! A bag, bale, brick or tub as it is sold.

use super::price::{Currency, price};
use crate::catalogue::{Catalogue, Handle, Ingredient, UsedAs, key};
use crate::diagnostic::{Code, Problem, Problems, Span};
use crate::exact::Fraction;
use crate::source::{Fields, FromNode, FromText, Node, Written, figures, list, no_more_than, text_of};
use crate::units::mass::{gram, kilogram};
use crate::units::{
    Bounds, Fault, Quantity, Volume, leading_mass, mass_or_volume, number, percent, plain, to_litres, volume_range,
    within,
};
use rust_decimal::Decimal;

/// The most packages of one ingredient.
const MOST_PACKAGES: usize = 40;

/// A package and the loose litres, or grams, it gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Package {
    /// What it is called: `100 L bag`.
    pub label: String,
    /// What it gives.
    pub gives: Quantity,
    /// What it costs.
    pub price: Option<Decimal>,
    /// Whose figure `gives` is.
    pub standing: Standing,
}

/// Whose figure the contents of a package are.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The user's own.
    Own,
    /// Worked out from the compressed volume and so many loose litres for each of it.
    Loosened(Fraction),
    /// The program's, with its range and the key of its source.
    BuiltIn {
        /// What such a package may give.
        range: String,
        /// Key of the source.
        from: String,
    },
}

impl Package {
    /// Whether the user's own file lists it.
    pub fn is_own(&self) -> bool {
        !matches!(self.standing, Standing::BuiltIn { .. })
    }

    /// Whether another label names it too: by the weight that both begin with, else by their words.
    pub fn is_labelled(&self, label: &str) -> bool {
        match (leading_mass(&self.label), leading_mass(label)) {
            (Some(one), Some(other)) => (one.get::<gram>() / other.get::<gram>() - 1.0).abs() < 1e-9,
            _ => key(&self.label) == key(label),
        }
    }

    /// One of another weight by the figures of this built-in one.
    pub(super) fn of_weight(&self, label: &str, kg: f64) -> Option<Self> {
        let Standing::BuiltIn { range, from } = &self.standing else { return None };
        let times = kg / leading_mass(&self.label)?.get::<kilogram>();
        let (least, most) = volume_range(range).ok()?;
        let [least, most] = [least, most].map(|end| plain(to_litres(end) * times, 1));
        Some(Self {
            label: label.to_owned(),
            gives: self.gives.times(times),
            price: None,
            standing: Standing::BuiltIn { range: format!("{least}-{most} L"), from: from.clone() },
        })
    }

    /// What its label starts with, where that is less than half or more than twice what
    /// it gives: one of the two may be a slip.
    pub fn contradicted(&self, ingredient: &Ingredient) -> Option<Quantity> {
        // A compressed bale gives more than its label says.
        if matches!(self.standing, Standing::Loosened(_)) {
            return None;
        }
        let words: Vec<&str> = self.label.split_whitespace().take(4).collect();
        let says = (1..=words.len()).rev().find_map(|count| mass_or_volume(&words[..count].join(" ")).ok())?.value;
        let says = counted(says, ingredient);
        let ratio = says.size() / self.gives.size();
        (says.is_like(self.gives) && !(0.5..=2.0).contains(&ratio)).then_some(says)
    }

    /// Reads `{label:, gives:, price:}`; a bale may say `compressed:`, and `loosens:`,
    /// in place of `gives:`. `ingredient` is what is in it, `None` for a ready-made mix.
    /// With it comes the currency of its price, and where that stands.
    pub(super) fn read(
        node: &Node<'_>,
        ingredient: Option<&Ingredient>,
        built_in: bool,
        problems: &Problems,
    ) -> Option<(Self, Option<(Currency, Span)>)> {
        let mut fields = Fields::new(node, "a package", problems)?;
        let label: Option<String> = fields.required("label");
        let contents = read_contents(&mut fields, ingredient, problems);
        let (price, currency) = fields.optional("price").map(|Price(paid)| paid).unzip();
        let at = fields.place("price");
        let mut standing = contents.and_then(|(_, factor)| factor).map_or(Standing::Own, Standing::Loosened);
        if built_in {
            let mut text = |key| fields.optional(key).unwrap_or_default();
            standing = Standing::BuiltIn { range: text("range"), from: text("from") };
        }
        fields.finish()?;
        let package = Self { label: label?.trim().to_owned(), gives: contents?.0, price, standing };
        Some((package, currency.flatten().map(|currency| (currency, at))))
    }
}

figures! {
    /// What a package costs, and the currency that stands with it.
    Price((Decimal, Option<Currency>)): "a price such as `24.90`", text => price(text);
    /// Loose litres for each compressed one.
    Loosening(Fraction): "loose litres for each compressed one: 1 to 20, for peat about `1.8`", text => loosening(text);
}

fn loosening(text: &str) -> Result<Fraction, Fault> {
    let factor = number(text)?;
    if factor < Fraction::ONE || factor > Fraction::whole(20) {
        return Err(Fault::Impossible(format!("a bale does not loosen to {} of its volume", percent(factor))));
    }
    Ok(factor)
}

/// What a package gives, and the factor if it was loosened.
fn read_contents(
    fields: &mut Fields<'_>,
    ingredient: Option<&Ingredient>,
    problems: &Problems,
) -> Option<(Quantity, Option<Fraction>)> {
    let conflict = |at, what, expected| problems.fault(Code::Conflict, at, what, expected);
    let factor = fields.optional("loosens").map(|Loosening(factor)| factor);
    let gives = fields.get("gives");
    let Some(compressed) = fields.get("compressed") else {
        if fields.states("loosens") {
            conflict(fields.place("loosens"), "`loosens:` belongs to a compressed bale", "`compressed:` beside it");
        }
        let node = fields.require("gives")?;
        let amount = Quantity::from_node(node, problems)?;
        let written = Written { text: text_of(node, Quantity::EXPECTED, problems)?, at: node.at, problems };
        return Some((contents(usable(amount, ingredient, written)?, written)?, None));
    };
    if let Some(gives) = gives {
        conflict(gives.at, "`gives:` and `compressed:` exclude each other", "one of them");
        return None;
    }
    let bale = Volume::from_node(compressed, problems)?;
    // Where the user does not say: between the 1.67 and 2.00 of printed bales (read).
    let factor = factor.or(Fraction::new(18, 10))?;
    let text = text_of(compressed, Volume::EXPECTED, problems)?;
    let gives = Quantity::Volume(bale * factor.to_f64());
    Some((contents(gives, Written { text, at: compressed.at, problems })?, Some(factor)))
}

/// What a package gives, if it is what one can hold.
fn contents(gives: Quantity, Written { text, at, problems }: Written<'_>) -> Option<Quantity> {
    const LITRES: Bounds = (1e-3..=1e6, "a package gives 1 mL to 1,000 m3");
    const GRAMS: Bounds = (0.1..=1e8, "a package gives 0.1 g to 100 t");
    let bounds = if gives.litres().is_some() { LITRES } else { GRAMS };
    problems.quantity(at, within(gives, gives.size(), bounds, text), Quantity::EXPECTED)
}

/// Packages by the ingredient that is in them.
pub(super) type Packages = Vec<Sold>;

/// An ingredient with its packages.
pub(super) type Sold = (Handle<Ingredient>, Vec<Package>);

/// Reads `packages:`; the currencies of their prices are added to those found before.
pub(super) fn read_packages(
    fields: &mut Fields<'_>,
    catalogue: &Catalogue,
    built_in: bool,
    currencies: &mut Vec<(Currency, Span)>,
    problems: &Problems,
) -> Packages {
    let mut found: Packages = Vec::new();
    for (name, at, value) in fields.entries("packages", "the packages") {
        let Some(id) = catalogue.ingredient_named(name, at.at, problems) else { continue };
        if found.iter().any(|(known, _)| *known == id) {
            problems.push(twice(&id, name, at.at));
            continue;
        }
        let nodes = no_more_than(list(value), MOST_PACKAGES, &format!("packages of {name}"), at.at, problems);
        let mut packages: Vec<Package> = Vec::new();
        for node in nodes {
            let Some((package, currency)) = Package::read(node, Some(&id), built_in, problems) else { continue };
            currencies.extend(currency);
            if packages.iter().any(|known| key(&known.label) == key(&package.label)) {
                let what = format!("two packages of {name} are called `{}`", package.label);
                problems.fault(Code::TwiceName, node.at, what, "a label of its own");
            } else {
                packages.push(package);
            }
        }
        found.push((id, packages));
    }
    found
}

/// The fault of an ingredient that stands twice.
pub(super) fn twice(ingredient: &Ingredient, name: &str, at: Span) -> Problem {
    let what = format!("`{name}` is {}, which stands here already", ingredient.name);
    Problem::new(Code::TwiceName, at, what, "each ingredient once")
}

/// The amount in the kind that its ingredient is counted in, where the user's own
/// `dry_density` tells weight from volume: doses by weight, everything else in litres.
///
/// The table's densities vary by half and more with moisture and pressing, so that an
/// amount turned by them could leave a batch short: they are not used.
pub fn counted(amount: Quantity, ingredient: &Ingredient) -> Quantity {
    let own = ingredient.dry_density.filter(|_| ingredient.own_density);
    match (amount, own, ingredient.kind == Some(UsedAs::Dose)) {
        (Quantity::Mass(mass), Some(density), false) => Quantity::Volume(mass / density),
        (Quantity::Volume(volume), Some(density), true) => Quantity::Mass(volume * density),
        _ => amount,
    }
}

/// The amount as counted; a fault of the text that stands at `at` for a mass of a ready-made
/// mix (`None`), or of a bulk ingredient without a density of its own.
pub(super) fn usable(amount: Quantity, ingredient: Option<&Ingredient>, written: Written<'_>) -> Option<Quantity> {
    let Written { text, at, problems } = written;
    let counted = ingredient.map_or(amount, |ingredient| counted(amount, ingredient));
    let is_bulk = ingredient.is_none_or(|ingredient| ingredient.kind == Some(UsedAs::Bulk));
    if !is_bulk || matches!(counted, Quantity::Volume(_)) {
        return Some(counted);
    }
    let name = ingredient.map_or("a mix", |ingredient| &ingredient.name);
    let help = match ingredient {
        Some(_) => format!(
            "write litres, or a package with what it gives, or the density yours has: `ingredients: {{{name}: \
             {{kind: bulk, dry_density: ... g/L}}}}`"
        ),
        None => "write the litres it gives".to_owned(),
    };
    let what = format!("`{text}` of {name} cannot be turned into litres: no density is known for it as bought");
    problems.refuse(Problem::new(Code::Quantity, at, what, "a volume such as `40 L`").with_help(Some(help)))
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::units::in_litres;

    /// 45 to 75 L for 5 kg by trade pages: 40.5 to 67.5 for 4.5 kg.
    #[test]
    fn a_label_is_known_by_its_weight() {
        let range = "45-75 L".to_owned();
        let block = Package {
            label: "5 kg block".to_owned(),
            gives: Quantity::Volume(in_litres(65.0)),
            price: None,
            standing: Standing::BuiltIn { range, from: "coir-trade".to_owned() },
        };
        for (label, same) in [
            ("5-kg block", true),
            ("5 KG  Block", true),
            ("5kg block", true),
            ("5000 g block", true),
            ("4.5 kg block", false),
            ("block", false),
        ] {
            assert_eq!(block.is_labelled(label), same, "{label}");
        }
        let sack = Package { label: "big sack".to_owned(), ..block.clone() };
        assert!(sack.is_labelled("Big  Sack") && !sack.is_labelled("sack"));
        let bale = block.of_weight("4.5 kg bale", 4.5).unwrap();
        assert_eq!(bale.standing, Standing::BuiltIn { range: "40.5-67.5 L".to_owned(), from: "coir-trade".to_owned() });
        assert!((bale.gives.size() - 58.5).abs() < 1e-9 && sack.of_weight("4.5 kg bale", 4.5).is_none());
    }
}
