//! The liquid feed on a sheet.

mod trays;

use super::document::{Document, Table};
use super::remark::{on, remark, texts};
use super::words::{and, assumption, fact};
use super::{Remark, Report, Style, csv};
use crate::behaviour::{
    COTYLEDONS_PPM, Feed, Fertiliser, LEAVES_PPM, PHOSPHORUS_PPM, Product, STRONG_POTASSIUM_PPM, STRONG_PPM, UNFED_PPM,
};
use crate::catalogue::Named;
use crate::stock::{Currency, money};
use crate::units::customary::DISSOLVED;
use crate::units::mass::gram;
use crate::units::volume::{litre, millilitre, us_fluid_ounce, us_liquid_gallon};
use crate::units::{
    Assumption, Liquid, Measure, Rounding, Spoon, UnitSystem, Volume, by_spoon, in_litres, plain, to_litres,
};
use crate::watering::{Watering, Waterings};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use serde_json::{Value, json};
use std::collections::BTreeSet;

fn span([least, most]: [f64; 2]) -> String {
    format!("{least:.0} to {most:.0}")
}

/// What holds for every feed.
fn always() -> [Remark; 3] {
    let [unfed, cotyledons, leaves] = [UNFED_PPM, COTYLEDONS_PPM, LEAVES_PPM].map(|ppm| span(ppm) + " ppm N");
    [
        remark!(
            "when-to-begin",
            "A mix without food: {unfed} once cotyledons are open. A mix with castings, compost or a starter charge: from \
             the first true leaves (common practice, no source)."
        ),
        remark!(
            "strength-by-stage",
            "By stage, from memory: none for the root, {cotyledons} for cotyledons, {leaves} with three leaves and more."
        ),
        Remark::new(
            "follow-the-label",
            "Follow the label and its safety data sheet; keep feed from children and animals.",
        ),
    ]
}

/// A feed and the water it is for, with others at the same strength.
pub struct FeedReport<'f> {
    /// The feed, and after it those that are set beside it.
    pub feeds: &'f [(Product, Feed)],
    /// The label's rate as written, where it was asked what it comes to.
    pub rate: Option<&'f str>,
    /// The water the fertiliser is dissolved in; of a stock all of it, fertiliser and water.
    pub water: Option<Volume>,
    /// How often an injector thins it; 1 for a watering can.
    pub injector: f64,
    /// The currency of all prices, where one is stated.
    pub currency: Option<Currency>,
    /// The trays that are fed.
    pub trays: Option<&'f Waterings>,
    /// What was taken for bare units.
    pub units: BTreeSet<Assumption>,
}

/// By weight, by measure, or both, to the nearest: `18 g (15 mL, about 1 tbsp)`.
fn amount(of: Fertiliser, units: UnitSystem) -> String {
    let mass = of.mass.map(|mass| mass.shown(Rounding::Near, units));
    // More than a few quarts are no spoonfuls.
    if let Some(volume) = of.volume.filter(|volume| to_litres(*volume) >= 2.0) {
        let mass = mass.map(|mass| format!("{mass}, ")).unwrap_or_default();
        let gallons = || format!("{} US gal", plain(volume.get::<us_liquid_gallon>(), 2));
        return mass + &units.either(fact(volume, UnitSystem::Metric), gallons());
    }
    let measure = of.volume.map(|volume| {
        let (ml, ounces) = (volume.get::<millilitre>(), volume.get::<us_fluid_ounce>());
        let exact = match units {
            UnitSystem::Metric => format!("{} mL", plain(ml, if ml >= 1.0 { 1 } else { 2 })),
            UnitSystem::Us => format!("{} fl oz", plain(ounces, if ounces >= 0.1 { 2 } else { 3 })),
        };
        (exact, by_spoon(volume, Spoon::Cup, Rounding::Near))
    });
    match (mass, measure) {
        (Some(mass), Some((exact, spoons))) => format!("{mass} ({exact}, about {spoons})"),
        (None, Some((exact, spoons))) => format!("{exact} (about {spoons})"),
        (mass, None) => mass.unwrap_or_default(),
    }
}

/// What a fertiliser comes to in a litre, or in a US gallon.
fn in_each(Fertiliser { mass, volume }: Fertiliser, units: UnitSystem) -> String {
    let each = units.either(1.0, Volume::new::<us_liquid_gallon>(1.0).get::<litre>());
    let mass = mass.map(|mass| DISSOLVED.shown(mass.get::<gram>(), 3, units));
    let mass = mass.map(|shown| shown.split('/').next().unwrap_or_default().to_owned());
    let volume = volume.map(|volume| match units {
        UnitSystem::Metric => format!("{} mL", plain(volume.get::<millilitre>(), 3)),
        UnitSystem::Us => by_spoon(volume * each, Spoon::Cup, Rounding::Near),
    });
    [mass, volume].into_iter().flatten().collect::<Vec<_>>().join(" or ")
}

/// `3-1-2`, or `fish (3-1-2)`.
fn in_full(Product { name, label, .. }: &Product) -> String {
    if name == label { name.clone() } else { format!("{name} ({label})") }
}

/// What the fertiliser in a litre of feed costs.
fn cost_per_litre((product, feed): &(Product, Feed)) -> Option<Decimal> {
    product.package.as_ref()?.cost_of(feed.strength)
}

impl FeedReport<'_> {
    /// How much to take for the water.
    fn taken(&self, units: UnitSystem) -> Option<String> {
        let (product, feed) = &self.feeds[0];
        let fertiliser = format!("{} of {}", amount(feed.fertiliser?, units), in_full(product));
        // As given, not rounded down.
        let water = fact(Liquid(self.water?), units);
        Some(if self.injector > 1.0 {
            // Of a stock the fertiliser is a good part.
            let times = plain(self.injector, 1);
            let all = fact(Liquid(self.water? * self.injector), units);
            let stock = Fertiliser { mass: None, volume: Some(in_litres(1.0 / self.injector)) };
            let (stock, each) = (in_each(stock, units), units.either("litre", "US gallon"));
            let is_neat =
                feed.fertiliser?.volume.zip(self.water).is_some_and(|(volume, water)| volume * (1.0 + 1e-9) >= water);
            let made = match is_neat {
                true => format!("Take {fertiliser} as it is"),
                false => format!("Stir {fertiliser} into some of the water and make up to {water}"),
            };
            format!(
                "{made}; the injector thins this {times} \
                 times (1:{times}) to {all} of feed. In a can take {stock} of this stock for each {each}."
            )
        } else {
            format!("Dissolve {fertiliser} in {water} of water.")
        })
    }

    /// What a litre of feed costs, or a US gallon.
    fn cost(&self, of: &(Product, Feed), units: UnitSystem) -> Option<String> {
        let each = units.either(Decimal::ONE, Decimal::from_f64(to_litres(Volume::new::<us_liquid_gallon>(1.0)))?);
        let cost = cost_per_litre(of)?.checked_mul(each)?.round_sf(3)?.normalize();
        Some(self.priced(&cost.to_string()))
    }

    fn priced(&self, price: &str) -> String {
        self.currency.map_or_else(|| price.to_owned(), |currency| format!("{price} {currency}"))
    }

    /// What all waterings of the trays take of a fertiliser, least and most.
    fn in_all(&self, feed: &Feed) -> Option<[Fertiliser; 2]> {
        Some(self.trays?.in_all().map(|volume| feed.strength.times(to_litres(volume))))
    }

    /// The packages that are enough for the most, and what they cost.
    fn bought(&self, (product, feed): &(Product, Feed)) -> Option<String> {
        let pack = product.package.as_ref()?;
        let count = pack.count_for(self.in_all(feed)?[1])?;
        let price = self.priced(&money(pack.price.checked_mul(count.into())?));
        Some(format!("{count} x {} for {price}", pack.label))
    }

    /// What is in each litre or gallon, and what that costs.
    fn strength(&self, units: UnitSystem) -> String {
        let each = units.either("litre", "US gallon");
        let amounts = in_each(self.feeds[0].1.strength, units);
        let cost = self.cost(&self.feeds[0], units).filter(|_| self.feeds.len() == 1);
        let cost = cost.map(|cost| format!(" A {each} of feed costs {cost}.")).unwrap_or_default();
        format!("That is {amounts} in each {each} that reaches the plants.{cost}")
    }

    /// The names of the feeds that cost least, where more than one has a price.
    fn cheapest(&self) -> Vec<&str> {
        let costs: Vec<_> =
            self.feeds.iter().filter_map(|of| Some((cost_per_litre(of)?, of.0.name.as_str()))).collect();
        let least = costs.iter().map(|(cost, _)| *cost).min().filter(|_| costs.len() > 1);
        costs.into_iter().filter(|(cost, _)| Some(*cost) == least).map(|(_, name)| name).collect()
    }

    /// The feeds side by side.
    fn compare(&self, document: &mut Document, units: UnitSystem) {
        if self.feeds.len() == 1 {
            return;
        }
        document.heading(format!("Side by side at {} ppm N", plain(self.feeds[0].1.nitrogen_ppm, 1)));
        let row = |of: &(Product, Feed)| {
            let (product, feed) = of;
            [
                in_full(product),
                in_each(feed.strength, units),
                feed.fertiliser.map(|of| amount(of, units)).unwrap_or_default(),
                plain(feed.phosphorus_ppm, 1),
                plain(feed.potassium_ppm, 1),
                self.cost(of, units).unwrap_or_default(),
                self.bought(of).unwrap_or_default(),
            ]
        };
        let [each, costs] = units.either([">in each litre", ">a litre costs"], [">in each US gal", ">a US gal costs"]);
        let columns = ["feed", each, ">for the water", ">P ppm", ">K ppm", costs, ">packages"];
        document.table(Table::of(columns, self.feeds.iter().map(row)).without_empty_columns());
        let cheapest = self.cheapest();
        if !cheapest.is_empty() {
            document.paragraph(format!("Cheapest by the litre of feed: {}.", and(cheapest)));
        }
    }

    fn json(&self, of: &(Product, Feed)) -> Value {
        let grams = |of: Fertiliser| of.mass.map(|mass| mass.get::<gram>());
        let millilitres = |of: Fertiliser| of.volume.map(|volume| volume.get::<millilitre>());
        let (Product { name, label, package, .. }, feed) = of;
        let in_all = self.in_all(feed);
        json!({
            "name": name,
            "analysis": label,
            "grams": feed.fertiliser.and_then(grams),
            "ml": feed.fertiliser.and_then(millilitres),
            "g_per_l": grams(feed.strength),
            "ml_per_l": millilitres(feed.strength),
            "nitrogen_ppm": feed.nitrogen_ppm,
            "phosphorus_ppm": feed.phosphorus_ppm,
            "p2o5_ppm": feed.phosphate_ppm,
            "potassium_ppm": feed.potassium_ppm,
            "k2o_ppm": feed.potash_ppm,
            "package": package.as_ref().map(|pack| &pack.label),
            "price": package.as_ref().map(|pack| money(pack.price)),
            "cost_per_l": cost_per_litre(of).map(|cost| cost.round_dp(6).normalize().to_string()),
            "grams_in_all": in_all.and_then(|[least, most]| Some([grams(least)?, grams(most)?])),
            "ml_in_all": in_all.and_then(|[least, most]| Some([millilitres(least)?, millilitres(most)?])),
            "packages": package.as_ref().zip(in_all).and_then(|(pack, [_, most])| pack.count_for(most)),
        })
    }
}

impl Report for FeedReport<'_> {
    fn document(&self, style: Style) -> Document {
        let feed = &self.feeds[0].1;
        let nitrogen = plain(feed.nitrogen_ppm, 1);
        let mut document = Document::new(match self.rate {
            Some(rate) => format!("Feed at {rate}: {nitrogen} ppm N"),
            None => format!("Feed at {nitrogen} ppm N"),
        });
        let taken = self.taken(style.units).into_iter().chain([self.strength(style.units)]);
        document.paragraph(taken.collect::<Vec<_>>().join(" "));
        document.paragraph(format!(
            "It brings {nitrogen} mg/L nitrogen, {} phosphorus ({} as P2O5) and {} potassium ({} as K2O).",
            plain(feed.phosphorus_ppm, 1),
            plain(feed.phosphate_ppm, 1),
            plain(feed.potassium_ppm, 1),
            plain(feed.potash_ppm, 1)
        ));
        self.compare(&mut document, style.units);
        document.list(texts(&self.warnings(style.units)));
        self.trays(&mut document, style.units);
        document.heading("When to begin");
        document.list(texts(&self.always(style.units)));
        document
    }

    fn value(&self) -> Value {
        let (mut value, metric) = (self.json(&self.feeds[0]), UnitSystem::Metric);
        let notes = [self.warnings(metric), self.of_trays(metric), self.always(metric)].concat();
        let row = |fed: &Watering| {
            json!({
                "crop": fed.crop,
                "tray": fed.tray,
                "trays": fed.trays,
                "potted_on": fed.potted_on,
                "inoculated": fed.inoculated,
                "first_feed": fed.begins.map(|day| day.to_string()),
                "waterings": fed.times,
                "least_l": fed.each[0],
                "most_l": fed.each[1],
            })
        };
        let trays = self.trays.map(|trays| {
            json!({
                "of": trays.title,
                "every_days": trays.season.map(|(every, _)| every),
                "fed": trays.fed.iter().map(row).collect::<Vec<_>>(),
                "in_all_l": trays.in_all(),
            })
        });
        let more = json!({
            "format": "trayful-feed/1",
            "rate": self.rate,
            "water_l": self.water,
            "injector": self.injector,
            "currency": self.currency.map(|currency| currency.to_string()),
            "feeds": self.feeds.iter().map(|of| self.json(of)).collect::<Vec<_>>(),
            "cheapest": self.cheapest(),
            "trays": trays,
            "notes": notes,
        });
        if let (Value::Object(first), Value::Object(more)) = (&mut value, more) {
            first.extend(more);
        }
        value
    }

    fn records(&self) -> Vec<Vec<String>> {
        const FED: &str = "crop tray trays potted_on first_feed waterings least_l most_l";
        const FEEDS: &str = "grams ml g_per_l nitrogen_ppm phosphorus_ppm potassium_ppm ml_per_l p2o5_ppm k2o_ppm name \
                             analysis package price cost_per_l";
        let value = self.value();
        if self.trays.is_some() {
            return csv::table(&value["trays"], "fed", FED);
        }
        let mut records = csv::table(&value, "feeds", FEEDS);
        "millilitres".clone_into(&mut records[0][1]);
        records
    }
}

impl FeedReport<'_> {
    /// What holds for every feed.
    fn always(&self, units: UnitSystem) -> Vec<Remark> {
        let bare = self.units.iter().map(|unit| Remark::new("bare-unit", assumption(*unit, units)));
        always().into_iter().chain(bare).collect()
    }

    /// What is wrong with a feed, or missing for its cost.
    fn warnings(&self, units: UnitSystem) -> Vec<Remark> {
        let names = |is: fn(&(Product, Feed)) -> bool| {
            self.feeds.iter().filter(|of| is(of)).map(|(product, _)| product.name.as_str()).collect::<Vec<_>>()
        };
        let is_one = self.feeds.len() == 1;
        let of = |names: &[&str]| if is_one { String::new() } else { format!("{}: ", and(names)) };
        let told =
            |names: Vec<&str>, code, text: String| (!names.is_empty()).then(|| Remark::new(code, of(&names) + &text));
        let too_strong = told(
            names(|(_, feed)| feed.is_too_strong()),
            "feed-too-strong",
            format!(
                "TOO STRONG for seedlings: above about {STRONG_PPM:.0} ppm of nitrogen or {STRONG_POTASSIUM_PPM:.0} of \
                 potassium (from memory) the salts can kill them. Use less."
            ),
        );
        let for_older = told(
            names(|(_, feed)| feed.is_for_older()),
            "feed-for-older",
            format!("Strong: seedlings with three leaves and more take {} ppm N (from memory).", span(LEAVES_PPM)),
        );
        let lower = if self.injector > 1.0 { " A lower ratio of the injector takes a weaker stock." } else { "" };
        let stocks = self.feeds.iter().filter(|_| self.water.is_some()).filter_map(|(product, feed)| {
            let grams = DISSOLVED.shown(feed.hardly_dissolves(self.injector)?, 0, units);
            let of = if is_one { String::new() } else { format!("{}: ", product.name) };
            Some(remark!(
                "stock-hardly-dissolves",
                "{of}{grams} of stock is more than many dry fertilisers dissolve: see the label for the most.{lower}"
            ))
        });
        let unpriced = names(|(product, _)| product.package.is_none());
        let unpriced = on("no-price", if is_one { &[] } else { &unpriced }, |names| {
            format!("No price is stated of {names}: what it costs is left out.")
        });
        let hindering = names(|(_, feed)| feed.hinders_mycorrhiza());
        let than = if is_one { String::new() } else { format!(" than in {}", and(&hindering)) };
        let phosphorus = self.inoculated().filter(|_| !hindering.is_empty()).map(|beside| {
            remark!(
                "phosphorus-hinders-mycorrhiza",
                "{beside} choose a feed with less phosphorus{than}, since above about {PHOSPHORUS_PPM:.0} ppm it keeps mycorrhiza from forming (a \
                 synthesis of trials, no published threshold)."
            )
        });
        let rate = self.rate.unwrap_or_default().to_lowercase();
        let is_by_ounce = ["oz", "ounce"].iter().any(|unit| rate.contains(unit)) && !rate.contains("fl");
        let ounce = (is_by_ounce && self.feeds[0].1.is_liquid()).then(|| {
            remark!(
                "weight-ounce",
                "The ounce is taken as one of weight: where the label means fluid ounces, write `fl oz`."
            )
        });
        ounce.into_iter().chain(too_strong).chain(for_older).chain(stocks).chain(unpriced).chain(phosphorus).collect()
    }

    /// Where an inoculant is, or may be.
    fn inoculated(&self) -> Option<String> {
        let Some(trays) = self.trays else { return Some("With an inoculant in the mix".to_owned()) };
        let inoculated = trays.fed.iter().filter(|fed| fed.inoculated);
        let crops: BTreeSet<&str> = inoculated.map(|fed| fed.crop.shown()).collect();
        (!crops.is_empty()).then(|| format!("There is an inoculant in the mix or the plugs of {}:", and(crops)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::behaviour::{Analysis, Percentages};
    use crate::report::{Format, render};
    use crate::units::MassDensity;
    use crate::units::mass_density::gram_per_litre;

    fn feed(label: &str, percentages: Percentages, ppm: f64, water: Option<Volume>) -> Feed {
        Feed::of(Analysis::parse(label).unwrap(), percentages, ppm, water.map(|water| (water, 1.0)))
    }

    fn offered(feed: Feed, label: &str, percentages: Percentages) -> [(Product, Feed); 1] {
        let analysis = Analysis::parse(label).unwrap();
        let [name, label] = [label, label].map(str::to_owned);
        [(Product { name, label, analysis, percentages, package: None }, feed)]
    }

    fn report(feeds: &[(Product, Feed)], water: Option<Volume>) -> FeedReport<'_> {
        let (rate, currency, trays, units) = Default::default();
        FeedReport { feeds, rate, water, injector: 1.0, currency, trays, units }
    }

    /// 500 mg of a 20-10-20 hold 100 mg of nitrogen, 50 of P2O5 and 100 of K2O; ten litres
    /// take ten times that.
    #[test]
    fn the_spreadsheet_has_the_figures_of_the_sheet() {
        let water = Some(Volume::new::<litre>(10.0));
        let feed = feed("20-10-20", Percentages::OfWeight(None), 100.0, water);
        let records = report(&offered(feed, "20-10-20", Percentages::OfWeight(None)), water).records();
        assert_eq!(records[0][..3], ["grams", "millilitres", "g_per_l"]);
        assert_eq!(records[1][..4], ["5", "", "0.5", "100"]);
        // Of P2O5 43.643 % is phosphorus, of K2O 83.015 % potassium.
        assert_eq!(records[1][4..], ["21.8215", "83.015", "", "50", "100", "20-10-20", "20-10-20", "", "", ""]);
    }

    /// By hand: 60 ppm of a 3 % liquid of 1.2 g/mL in 9 L are 18 g or 15 mL, 3 tsp of 4.929 mL; 2 g in a
    /// litre are 7.571 g in a gallon, 0.267 oz. By volume 18 mL, 2 mL in a litre.
    #[test]
    fn a_liquid_is_told_by_weight_by_measure_and_by_the_spoon() {
        let said = |percentages, units| {
            let water = Some(Volume::new::<litre>(9.0));
            let feed = feed("3-1-2", percentages, 60.0, water);
            let style = Style { format: Format::Markdown, units, ..Style::default() };
            render(&report(&offered(feed, "3-1-2", percentages), water), style).lines().nth(2).unwrap().to_owned()
        };
        let dense = Percentages::OfWeight(Some(MassDensity::new::<gram_per_litre>(1200.0)));
        assert_eq!(
            said(dense, UnitSystem::Metric),
            "Dissolve 18 g (15 mL, about 1 tbsp) of 3-1-2 in 9 L of water. That is 2 g or 1.667 mL in each litre that \
             reaches the plants."
        );
        assert_eq!(
            said(dense, UnitSystem::Us),
            "Dissolve 0.63 oz (0.51 fl oz, about 1 tbsp) of 3-1-2 in 9.51 US qt of water. That is 0.267 oz or 1 1/4 tsp \
             in each US gallon that reaches the plants."
        );
        assert_eq!(
            said(Percentages::OfVolume, UnitSystem::Metric),
            "Dissolve 18 mL (about 1 tbsp + 3/4 tsp) of 3-1-2 in 9 L of water. That is 2 mL in each litre that reaches \
             the plants."
        );
    }
}
