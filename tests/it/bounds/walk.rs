//! No number, wherever it stands, makes a command panic, hang or print what is no number; and
//! `check` finds a file in order exactly where its command does.

use super::{Bench, Said};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// In place of each number that stands between `<` and `>`.
fn hostile() -> Vec<String> {
    let texts = ["0", "1", "-1", "1e308", "9999999", "0.0000001"].map(str::to_owned);
    texts.into_iter().chain([format!("0.{}1", "0".repeat(27)), "9".repeat(309)]).collect()
}

/// The text as it is, and with each of its marked numbers replaced by each other one.
fn varied(text: &str) -> Vec<String> {
    let plain = |text: &str| text.replace(['<', '>'], "");
    let mut texts = vec![plain(text)];
    for (start, _) in text.match_indices('<') {
        let end = start + text[start..].find('>').unwrap();
        texts.extend(hostile().iter().map(|number| plain(&format!("{}{number}{}", &text[..start], &text[end..]))));
    }
    texts
}

/// Runs a command with its result as JSON.
fn tried(bench: &Bench, line: &str, format: &str, text: &str) -> u8 {
    let said = catch_unwind(AssertUnwindSafe(|| bench.run(&format!("{line} --format {format}"))));
    let Said { code, out, err } = said.unwrap_or_else(|_| panic!("{line} panics on\n{text}"));
    assert!(code <= 2 && (code == 2) != err.is_empty(), "{line}: {code} on\n{text}\n{err}");
    let odd = ["NaN", " inf", "18446744073709551615"];
    assert!(!odd.iter().any(|odd| out.contains(odd)), "{line} on\n{text}\n{out}");
    code
}

/// Walks the numbers of a file: `check` refuses it, or tells, where one of the commands refuses it. What is taken is
/// given as JSON, and in the other forms in turn.
fn walk((name, text): (&str, &str), beside: &[(&str, &str)], commands: &[&str]) {
    let bench = Bench::new(beside);
    let mut forms = ["text", "csv", "markdown", "html"].into_iter().cycle();
    for (number, text) in varied(text).into_iter().enumerate() {
        bench.write(name, &text);
        let Said { code: checked, out, .. } = bench.run(&format!("check @{name}"));
        assert!(number > 0 || checked == 0, "{text}");
        let codes: Vec<u8> = commands.iter().map(|line| tried(&bench, line, "json", &text)).collect();
        // A week in order may have a soak that is refused, which is told.
        let is_told = checked == 2 || out.contains("`trayful soak` refuses it");
        let is_refused = codes.contains(&2);
        assert!((checked < 2 || is_refused) && (is_told || !is_refused), "check {checked}, {codes:?} on\n{text}");
        if checked < 2 {
            let form = forms.next().unwrap();
            let others: Vec<u8> = commands.iter().map(|line| tried(&bench, line, form, &text)).collect();
            assert_eq!(others, codes, "{form} of\n{text}");
        }
    }
}

const RECIPE: &str = "recipe: own\nparts: {coir or peat: 3, perlite: 1, castings: 1}\ndoses: {lime: 2 g/L}\n";

#[test]
fn every_number_of_a_week() {
    let week = "week: beds\nrecipe: own\nmix_on: 2027-03-06 10:00\ntub: <60> L\nscoop: <2> L\n\
        allowances: {settling: <15> %, spill: <5> %, sieve_loss: <10> %, usable: <90> %, surety: <90> %}\n\
        rack: {shelves: <3>, trays_per_shelf: <4>, occupied: <5>}\nsowings:\n\
        - {crop: kale, plants: <80>, tray: 50-cell, germination: <88> %, usable: <90> %, surety: <80> %, seeds: <2>}\n\
        - {crop: basil, cells: <40>, tray: 72-cell}\n- {crop: leek, trays: <2>, tray: 200-cell}\n\
        - {crop: tomato, potted: <12>, tray: 9 cm pot, spare: <5> %}\n\
        trial: {crop: leek, compare: feed, pairs: <1>, seed: <7>, difference: <20> %}\n";
    walk(("week.yaml", week), &[("own.yaml", RECIPE)], &["plan @week.yaml"]);
}

#[test]
fn every_number_of_own_entries() {
    let week = "week: beds\nrecipe: own\nmix_on: 2027-03-06 10:00\nsowings:\n\
        - {crop: herb, cells: 40, tray: own}\n- {crop: herb, plants: 9, tray: shaped}\n\
        - {crop: herb, potted: 9, tray: weighed}\n- {crop: herb, cells: 9, tray: block}\n\
        trays:\n  \
          own: {cells: <50>, rows: <10>, cell: <60> mL, top: <45> mm, depth: <60> mm, footprint: <54> x <28> cm}\n  \
          shaped: {cells: 28, rows: 7, shape: {square: {top: <50> mm, bottom: <35> mm, depth: <90> mm}}}\n  \
          weighed: {pot: yes, per_tray: <18>, cell: {ten_weigh: <3000> g}}\n  \
          block: {cells: 50, cell: 125 mL, depth: <50> mm, compression: <1.5>}\n\
        crops: {herb: {family: Lamiaceae, emerges: <4>-<9>, weeks: <5>-<6>, cells: <72>-<128>, \
          germination: <70> %, seeds_per_gram: <350>}}\n\
        ingredients: {perlite: {dry_density: <90> g/L, porosity: <0.7>, water_held_range: <22>-<40> %, ph: <7>}, \
          ash: {ec: <0.5>-<1> mS/cm}, lime: {most: <3> g/L, dry_density: <900> g/L}}\n";
    walk(("week.yaml", week), &[("own.yaml", RECIPE)], &["plan @week.yaml"]);
}

#[test]
fn every_number_of_a_recipe() {
    let recipe = "recipe: own\nparts: {peat or coir: <3>, perlite: <10> %, castings: 1/<3>}\nwhole: <4>\nyield: <88> %\n\
        doses: {lime: {rate: <2> g/L, of: peat}, inoculant: <5> lb/<2> cu yd, bone meal: {rate: <1> mL/L, per: loose}}\n\
        changes:\n- {for: {cell: under <15> mL}, sieve: <6> mm, yield: <80> %}\n\
        - {for: kale, top: {sieve: <3> mm, depth: <5> mm}, add: {perlite: <2>}, set: {lime: <3> g/L}}\n";
    let commands = [
        "scale @own.yaml --make 10_L --crop kale",
        "scale @own.yaml --tray 512-cell=2 --crop kale",
        "fill @own.yaml --tray 72-cell --crop kale --have peat=40_L --have perlite=40_L --have castings=40_L",
    ];
    walk(("own.yaml", recipe), &[], &commands);
}

#[test]
fn every_number_of_a_stock_file() {
    let stock = "stock: shed\non_hand: {perlite: <2> x 100 L bag + <3> L, castings: <12> L, lime: <800> g}\npackages:\n  \
        coir: [{label: 5 kg block, gives: <65> L, price: <14.90>}]\n  \
        peat: [{label: bale, compressed: <107> L, loosens: <1.8>, price: <24.90> EUR}]\n  \
        perlite: [{label: 100 L bag, gives: <100> L, price: 27}, {label: bag, gives: <10> L, price: <5>}]\n  \
        lime: [{label: bag, gives: <2> kg, price: 3}]\nready_made: {label: bag, gives: <40> L, price: <13>}\n\
        ingredients: {grit: {kind: bulk, dry_density: <900> g/L, moist_density: <1000>-<1500> g/L}}\n";
    let week = "week: beds\nrecipe: own\nstock: shed.yaml\nsowings: [{crop: kale, cells: 40, tray: 72-cell}]\n";
    walk(
        ("shed.yaml", stock),
        &[("own.yaml", RECIPE), ("week.yaml", week)],
        &["plan @week.yaml", "fill @own.yaml --tray 72-cell --stock @shed.yaml", "fill @week.yaml"],
    );
}

#[test]
fn every_number_of_a_soak() {
    let of_file = "soak: spring\ncoir: {product: <5> kg block, count: <2>}\nsold_as: none\nlabel_ca: <19> %\n\
        target: {monovalent: <15> %, sodium: <5> %, rinse_ec: <0.8> mS/cm}\nsoaks: <2>\nhours: <24>\n\
        water: {Ca: <1.5> mmol/L, HCO3: <3> mmol/L}\nready: 2027-03-06 10:00\ntub: <120> L\n";
    walk(("soak.yaml", of_file), &[], &["soak @soak.yaml"]);
    let measured = "soak: brick\ncoir: {loose: <9> L}\nlab: {exchange_capacity: <0.55> mol/kg, holds: <6.5> kg/kg, \
        extract: {K: <15> mmol/L, Na: <4> mmol/L, Ca: <10> mg/L}, soluble: {NaCl: <8> mmol/kg}}\nparticles: <12> mm\n";
    walk(("soak.yaml", measured), &[], &["soak @soak.yaml"]);
    let course = "soak: mine\ncoir: {dry: <1> kg}\nsteps:\n- {do: hydrate, water: <7> L}\n\
        - {do: soak, water: 10 L, gypsum: <0.3> mol, hours: <36>}\n\
        - {do: soak, water: 10 L, salts: {calcium nitrate tetrahydrate: <3> g/L}}\n";
    walk(("soak.yaml", course), &[], &["soak @soak.yaml"]);
    let week = "week: beds\nrecipe: own\nsowings: [{crop: kale, cells: 400, tray: 72-cell}]\nmix_on: 2027-03-06 10:00\n\
        soak: {sold_as: washed, coir: {product: <5> kg block}, tub: <60> L, hours: <20>, soaks: <3>}\n";
    walk(("week.yaml", week), &[("own.yaml", RECIPE)], &["plan @week.yaml", "soak @week.yaml"]);
}

#[test]
fn every_number_of_a_table() {
    let bench = Bench::new(&[("own.yaml", RECIPE), ("week.yaml", "week: w\nrecipe: own\nsowings: rows.csv\n")]);
    let table = "crop,tray,plants,cells,trays,potted,germination,usable,surety,seeds,spare\n\
        kale,72-cell,<80>,,,,<88> %,<90> %,<80> %,<2>,\nleek,72-cell,,<80>,,,,,,,\nleek,72-cell,,,<8>,,,,,,\n\
        tomato,9 cm pot,,,,<12>,,,,,<5> %\n";
    for text in varied(table) {
        bench.write("rows.csv", &text);
        let code = tried(&bench, "plan @week.yaml", "json", &text);
        assert_eq!(bench.run("check @week.yaml").code == 2, code == 2, "{text}");
    }
}

#[test]
fn every_number_of_the_command_line() {
    let bench = Bench::new(&[("own.yaml", RECIPE)]);
    for line in [
        "scale @own.yaml --make <10>_L",
        "scale @own.yaml --tray 72-cell=<4>",
        "fill @own.yaml --tray 72-cell --have coir=<40>_L --have perlite=<2>_x_100_L --have castings=<9>_L",
        "soak --product <5>_kg_block --count <2> --tub <120>_L --soaks <2> --hours <24> --target <15>_% --label-ca <17>_%",
        "soak --dry <4>_kg --particles <12>_mm",
        "soak --loose <40>_L",
        "feed --analysis 3-1-2 --rate <2>_g/L --with fish:_<5>-<1>-1,_<1>_L_for_<12.90>,_<1.1>_g/mL",
        "feed --analysis <4>-<1>-<1> --ppm <50> --water <9>_L --injector 1:<200> --density <1.2>_g/mL",
    ] {
        let codes = varied(line).iter().map(|line| tried(&bench, line, "json", line)).collect::<Vec<_>>();
        assert!(codes[0] < 2 && codes.contains(&2), "{line} {codes:?}");
    }
    for line in varied("yield @own.yaml --before <12>_L --after <10>_L").iter().skip(1) {
        assert!(bench.run(line).code == 2, "{line}");
    }
}
