//! Recipes published at more than one scale: the scales must agree, and where a book
//! contradicts itself the exact figure must come out.

use super::bench::{make, near, planned, printed, volume};
use trayful::units::mass::{gram, ounce};
use trayful::units::volume::{us_cup, us_tablespoon};
use trayful::units::{mass, to_litres};
use trayful::week::ReadingNote;

/// John Innes potting compost No. 1 (read): 7 loam, 3 peat, 2 sand. Base fertiliser is
/// printed as 28 g to 9 L (RHS profile 952), 5 lb to the cubic yard, 3.0 kg to the cubic
/// metre and 4 oz to the imperial bushel; chalk as 5 g, 1 lb, 0.6 kg and 3/4 oz.
#[test]
fn john_innes_at_four_scales() {
    for (base, chalk, base_g, chalk_g) in [
        ("28 g/9 L", "5 g/9 L", "112.0", "20.0"),
        ("5 lb/cu yd", "1 lb/cu yd", "106.8", "21.4"),
        ("3.0 kg/m3", "0.6 kg/m3", "108.0", "21.6"),
        ("4 oz/imp bu", "3/4 oz/imp bu", "112.2", "21.0"),
    ] {
        let recipe = format!(
            "recipe: potting\nparts: {{loam: 7, peat: 3, coarse sand: 2}}\ndoses:\n  \
             base fertiliser for loam: {{rate: {base}, per: loose}}\n  chalk: {{rate: {chalk}, per: loose}}\nyield: 100 %\n"
        );
        let mix = make(&recipe, "36 L", &[]);
        for (name, litres) in [("loam", 21.0), ("peat", 9.0), ("coarse sand", 6.0)] {
            near(to_litres(mix.loose(name)), litres, 1e-13);
        }
        assert_eq!(printed(mix.grams("base fertiliser for loam"), 1), base_g, "{base}");
        assert_eq!(printed(mix.grams("chalk"), 1), chalk_g, "{chalk}");
    }
}

/// The built-in loam mix is John Innes No. 1 by its metric figures, per summed
/// ingredients: 36 L of them take 108.0 g of base and 21.6 g of chalk.
#[test]
fn the_built_in_loam_mix_is_john_innes() {
    // The shipped yield is 92 %.
    let mix = make("loam potting", "33.12 L", &[]);
    near(to_litres(mix.loose("loam")), 21.0, 1e-12);
    assert_eq!(printed(mix.grams("base fertiliser for loam"), 1), "108.0");
    assert_eq!(printed(mix.grams("chalk"), 1), "21.6");
}

/// Coleman, The New Organic Grower (1989), read: 30 quarts peat, 1/8 lime, 20 sand or
/// perlite, 3/4 base fertiliser, 10 soil, 20 compost; the same in ten-quart buckets: 3
/// buckets of peat, half a cup of lime, 2 of sand or perlite, 3 cups of base, 1 of soil,
/// 2 of compost.
#[test]
fn the_blocking_mix_in_buckets() {
    // 80 quarts of ingredients, of which the shipped yield keeps 85 %.
    let mix = make("soil blocks", "68 US qt", &[]);
    let bucket = to_litres(volume("10 US qt"));
    for (name, buckets) in [("peat", 3.0), ("perlite", 2.0), ("soil", 1.0), ("compost", 2.0)] {
        near(to_litres(mix.loose(name)) / bucket, buckets, 1e-12);
    }
    near(mix.measure("lime").get::<us_cup>(), 0.5, 1e-12);
    near(mix.measure("base fertiliser for blocks").get::<us_cup>(), 3.0, 1e-12);
    // The book's parts: 1/8 and 3/4 quart.
    near(to_litres(mix.measure("lime")), to_litres(volume("1/8 US qt")), 1e-12);
    near(to_litres(mix.measure("base fertiliser for blocks")), to_litres(volume("3/4 US qt")), 1e-12);
    let sand = make("soil blocks", "68 US qt", &["coarse sand"]);
    near(to_litres(sand.loose("coarse sand")) / bucket, 2.0, 1e-12);
}

/// A peat-lite mix printed large and small (read): 12 gallons of peat, 6 of vermiculite
/// and 2 1/2 cups of lime; 2 quarts, 1 quart and 1 2/3 tablespoons. Exactly a
/// twenty-fourth, and a cup of lime stays a cup: it is never turned into grams.
#[test]
fn peat_lite_by_the_gallon_and_by_the_quart() {
    let recipe = "recipe: peat-lite\nparts: {peat: 12, vermiculite: 6}\ndoses:\n  \
                  lime: {rate: 2 1/2 cups/18 US gal, per: loose}\nyield: 100 %\n";
    let large = make(recipe, "18 US gal", &[]);
    let small = make(recipe, "3 US qt", &[]);
    near(to_litres(large.loose("peat")), to_litres(volume("12 US gal")), 1e-13);
    near(large.measure("lime").get::<us_cup>(), 2.5, 1e-13);
    near(to_litres(small.loose("peat")), to_litres(volume("2 US qt")), 1e-13);
    near(to_litres(small.loose("vermiculite")), to_litres(volume("1 US qt")), 1e-13);
    near(small.measure("lime").get::<us_tablespoon>(), 5.0 / 3.0, 1e-13);
    near(to_litres(large.loose("peat")) / to_litres(small.loose("peat")), 24.0, 1e-13);
}

/// Rutgers R-4 (2015, read): 22 bushels cut down to 2. The bulk is divided by 11, the
/// amendments by 10, so the printed small batch is 10 % too rich: a misprint.
#[test]
fn the_small_rutgers_batch_is_printed_a_tenth_too_rich() {
    let recipe = "recipe: r-4\nparts: {peat: 11, vermiculite: 11}\ndoses:\n  \
                  lime: {rate: 10 lb/22 bu, per: loose}\n  superphosphate: {rate: 2.5 lb/22 bu, per: loose}\n  \
                  complete fertiliser: {rate: 5 lb/22 bu, per: loose}\nyield: 100 %\n";
    let large = make(recipe, "22 bu", &[]);
    let small = make(recipe, "2 bu", &[]);
    near(to_litres(large.loose("peat")) / to_litres(small.loose("peat")), 11.0, 1e-13);
    for (name, pounds, exact, misprint) in [
        ("lime", "10 lb", "14.55", 16.0),
        ("superphosphate", "2.5 lb", "3.64", 4.0),
        ("complete fertiliser", "5 lb", "7.27", 8.0),
    ] {
        near(large.grams(name), mass(pounds).unwrap().get::<gram>(), 1e-12);
        let ounces = small.mass(name).get::<ounce>();
        assert_eq!(printed(ounces, 2), exact);
        assert_eq!(printed(misprint / ounces, 3), "1.100", "{name}");
    }
}

/// Cornell foliage mix (Mott; read), per cubic metre: 0.5 peat, 0.25 vermiculite, 0.25
/// perlite, 4.9 kg dolomite, 1.2 kg superphosphate, 1.6 kg 10-10-10, 0.4 kg iron
/// sulfate, 0.6 kg potassium nitrate; per bushel 1/2, 1/4, 1/4 bushel and 8, 2, 3, 1, 1
/// tablespoons. The grams a bushel takes, and the density each spoon then has.
#[test]
fn the_foliage_mix_by_the_metre_and_by_the_bushel() {
    let recipe = "recipe: foliage\nparts: {peat: 0.5, vermiculite: 0.25, perlite: 0.25}\nwhole: 1\ndoses:\n  \
                  lime: {rate: 4.9 kg/m3, per: loose}\n  superphosphate: {rate: 1.2 kg/m3, per: loose}\n  \
                  complete fertiliser: {rate: 1.6 kg/m3, per: loose}\n  iron sulfate: {rate: 0.4 kg/m3, per: loose}\n  \
                  potassium nitrate: {rate: 0.6 kg/m3, per: loose}\nyield: 100 %\n";
    let metre = make(recipe, "1 m3", &[]);
    near(metre.grams("lime"), 4_900.0, 1e-12);
    let bushel = make(recipe, "1 bu", &[]);
    near(to_litres(bushel.loose("peat")), to_litres(volume("1/2 bu")), 1e-13);
    near(to_litres(bushel.loose("perlite")), to_litres(volume("1/4 bu")), 1e-13);
    for (name, grams, spoons, density) in [
        ("lime", "172.7", 8.0, "1.46"),
        ("superphosphate", "42.3", 2.0, "1.43"),
        ("complete fertiliser", "56.4", 3.0, "1.27"),
        ("iron sulfate", "14.1", 1.0, "0.95"),
        ("potassium nitrate", "21.1", 1.0, "1.43"),
    ] {
        let got = bushel.grams(name);
        assert_eq!(printed(got, 1), grams, "{name}");
        let spoon_ml = to_litres(volume("1 tbsp")) * 1000.0;
        assert_eq!(printed(got / (spoons * spoon_ml), 2), density, "{name}");
    }
    assert_eq!(bushel.loaded.week.recipes[0].shares_off, None);
}

/// Cornell epiphytic mix (read): 0.33 + 0.33 + 0.25 m3 "per m3" sums to 0.91, a
/// misprint. Shares that do not sum to their whole are remarked on; thirds are not.
#[test]
fn shares_that_do_not_sum_to_their_whole_are_remarked_on() {
    let recipe = |shares: [&str; 3], whole: &str| {
        let [bark, peat, perlite] = shares;
        format!("recipe: epiphytes\nparts: {{pine bark: {bark}, peat: {peat}, perlite: {perlite}}}\n{whole}")
    };
    let off = |text: &str| {
        let mix = make(text, "10 L", &[]);
        let remark = mix.plan.notes.iter().any(
            |note| matches!(note, trayful::plan::Note::Remark(ReadingNote::SharesOff(words)) if words.contains("91 %")),
        );
        (mix.loaded.week.recipes[0].shares_off.map(|ratio| ratio.to_string()), remark)
    };
    let misprint = Some("0.91".to_owned());
    assert_eq!(off(&recipe(["0.33", "0.33", "0.25"], "whole: 1\n")), (misprint.clone(), true));
    assert_eq!(off(&recipe(["33 %", "33 %", "25 %"], "")), (misprint, true));
    // Without a stated whole these are parts like any others.
    assert_eq!(off(&recipe(["0.33", "0.33", "0.25"], "")), (None, false));
    assert_eq!(off(&recipe(["0.33", "0.33", "0.33"], "whole: 1\n")), (None, false));
    assert_eq!(off(&recipe(["1/3", "1/3", "1/3"], "whole: 1\n")), (None, false));
    // They are used in proportion.
    let mix = make(&recipe(["0.33", "0.33", "0.25"], "whole: 1\nyield: 100 %\n"), "91 L", &[]);
    near(to_litres(mix.loose("perlite")), 25.0, 1e-12);
}

/// Cornell peat-lite mix A (Boodley & Sheldrake, Information Bulletin 43, read in a
/// textbook's table): the built-in recipe by the cubic yard and by the cubic metre.
#[test]
fn the_built_in_peat_lite_a_by_the_yard_and_by_the_metre() {
    // Nine tenths are kept, so 0.9 yd3 of mix comes from 1 yd3 of ingredients.
    let yard = make("peat-lite A", "0.9 cu yd", &[]);
    for name in ["peat", "vermiculite"] {
        near(to_litres(yard.loose(name)), to_litres(volume("1/2 cu yd")), 1e-12);
    }
    for (name, written) in [
        ("lime", "5 lb"),
        ("superphosphate", "1.5 lb"),
        ("potassium nitrate", "1 lb"),
        ("trace elements", "2 oz"),
        ("wetting agent", "3 oz"),
    ] {
        near(yard.grams(name), mass(written).unwrap().get::<gram>(), 1e-12);
    }
    let metre = make("peat-lite A", "0.9 m3", &[]);
    near(to_litres(metre.loose("peat")), 500.0, 1e-12);
    assert_eq!(printed(metre.grams("lime") / 1000.0, 0), "3");
    assert_eq!(printed(metre.grams("potassium nitrate") / 1000.0, 1), "0.6");
    assert_eq!(printed(metre.grams("trace elements"), 0), "74");
    assert_eq!(printed(metre.grams("wetting agent"), 0), "111");
    // 1-2 lb, printed as 0.6-1.2 kg: the middle.
    let superphosphate = metre.grams("superphosphate") / 1000.0;
    assert!((0.6..1.2).contains(&superphosphate), "{superphosphate}");
}

/// UC mix D (UC Davis 2007, read): 3 peat to 1 fine sand, with five doses printed by the
/// yard and by the metre.
#[test]
fn uc_mix_d_by_the_yard_and_by_the_metre() {
    let doses = [
        ("potassium nitrate", "4 oz", "0.15"),
        ("potassium sulfate", "4 oz", "0.15"),
        ("superphosphate", "2 lb", "1.2"),
        ("lime", "5 lb", "3.0"),
        ("chalk", "4 lb", "2.4"),
    ];
    let lines: String =
        doses.iter().map(|(name, dose, _)| format!("  {name}: {{rate: {dose}/cu yd, per: loose}}\n")).collect();
    let recipe = format!("recipe: mix d\nparts: {{peat: 3, fine sand: 1}}\nyield: 100 %\ndoses:\n{lines}");
    let metre = make(&recipe, "1 m3", &[]);
    near(to_litres(metre.loose("peat")), 750.0, 1e-12);
    for (name, _, kilograms) in doses {
        let decimals = kilograms.split_once('.').map_or(0, |(_, digits)| digits.len());
        assert_eq!(printed(metre.grams(name) / 1000.0, decimals), kilograms, "{name}");
    }
}

/// A recipe page (read) sets lime by the gallon of peat: a dose can belong to one
/// ingredient. With coir in place of the peat there is none of it.
#[test]
fn lime_by_the_litre_of_peat() {
    let mix = make("everyday", "88 L", &[]);
    near(to_litres(mix.loose("peat")), 50.0, 1e-12);
    near(mix.grams("lime"), 100.0, 1e-12);
    let coir = make("everyday", "88 L", &["coir"]);
    assert_eq!(coir.plan.mixes.batches[0].doses.len(), 1);
    assert_eq!(coir.plan.mixes.batches[0].left_out.len(), 1);
    // Limed peat is an ingredient of its own.
    assert_eq!(make("everyday", "88 L", &["limed peat"]).plan.mixes.batches[0].doses.len(), 1);
}

/// Bulk inoculum at 1:9 and 1:19 by volume (Douds 2009, Biol. Agric. Hortic. 26:353):
/// left out for a brassica, the other parts scale up, or a carrier takes its share.
#[test]
fn inoculum_as_a_part_scales_up_or_leaves_its_carrier() {
    for parts in [9, 19] {
        let week = |carrier: &str| {
            format!(
                "week: trial\nrecipe: trial.yaml\ningredients: {{inoculum: {{serves: {{mycorrhiza: host}}{carrier}}}}}\n\
                 sowings: [{{crop: kale, trays: 1, tray: 72-cell}}, {{crop: leek, trays: 1, tray: 72-cell}}]\n"
            )
        };
        let recipe = format!("recipe: trial\nparts: {{peat: {parts}, inoculum: 1}}\n");
        let shares = |carrier: &str| {
            let files =
                trayful::source::Memory::default().with("week.yaml", week(carrier)).with("trial.yaml", recipe.as_str());
            let loaded = trayful::week::load(std::path::Path::new("week.yaml"), &files, &[])
                .unwrap_or_else(|rejected| panic!("{rejected}"));
            let plan = trayful::plan::plan(&loaded).unwrap();
            let of = |sowing: usize| {
                let batch = &plan.mixes.batches[plan.mixes.layout.sowings[sowing].batch];
                batch
                    .ingredients
                    .iter()
                    .map(|part| {
                        let name = part.ingredient.name.clone();
                        (name, to_litres(part.loose) / to_litres(batch.volumes.loose))
                    })
                    .collect::<Vec<_>>()
            };
            (of(0), of(1))
        };
        let share = 1.0 / f64::from(parts + 1);
        let (kale, leek) = shares("");
        assert_eq!(kale, [("peat".to_owned(), 1.0)]);
        near(leek[1].1, share, 1e-12);
        let (kale, _) = shares(", instead: vermiculite");
        assert_eq!(kale[1].0, "vermiculite");
        near(kale[1].1, share, 1e-12);
    }
    // One tray of one crop is one batch.
    assert_eq!(
        planned("week: w\nrecipe: rich\nsowings: [{crop: leek, trays: 1, tray: 72-cell}]\n").0.mixes.batches.len(),
        1
    );
}
