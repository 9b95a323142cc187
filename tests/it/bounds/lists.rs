//! How many there may be of each: so many are taken, and one more is refused in words. That nothing is
//! done with what is too many is seen in that only this one fault is said.

use super::Bench;

/// So many entries, each made from its number.
fn many(count: usize, each: impl Fn(usize) -> String) -> String {
    (0..count).map(each).collect::<Vec<_>>().join(", ")
}

/// The file of the most entries is in order, with one more it is not, and says how many it may have.
#[track_caller]
fn at_most(most: usize, what: &str, file: impl Fn(usize) -> String) {
    let bench = Bench::new(&[("own.yaml", "recipe: own\nparts: {peat: 3, perlite: 1}\n")]);
    bench.write("file.yaml", &file(most));
    let said = bench.run("check @file.yaml");
    assert_eq!(said.code, 0, "{}", said.err);
    bench.write("file.yaml", &file(most + 1));
    let said = bench.run("check @file.yaml");
    assert_eq!(said.code, 2);
    assert!(said.err.starts_with(&format!("error[too-many]: {} {what}", most + 1)), "{}", said.err);
    assert!(said.err.contains(&format!("at most {most} ")), "{}", said.err);
    assert_eq!(said.err.matches("error[").count(), 1, "{}", said.err);
}

fn own(count: usize) -> String {
    format!("ingredients: {{{}}}\n", many(count, |number| format!("i{number}: {{kind: bulk}}")))
}

#[test]
fn of_a_recipe() {
    let recipe = |parts: String, more: String| format!("recipe: r\n{}parts: {{{parts}}}\n{more}\n", own(110));
    at_most(100, "parts", |count| recipe(many(count, |number| format!("i{number}: 1")), String::new()));
    at_most(12, "choices for a part", |count| {
        recipe(format!("{}: 1", many(count, |number| format!("i{number}")).replace(", ", " or ")), String::new())
    });
    at_most(100, "doses", |count| {
        recipe("peat: 1".to_owned(), format!("doses: {{{}}}", many(count, |number| format!("i{number}: 1 g/L"))))
    });
    at_most(1000, "changes", |count| {
        recipe("peat: 1".to_owned(), format!("changes: [{}]", many(count, |_| "{for: kale, sieve: 3 mm}".to_owned())))
    });
    at_most(1000, "crops or traits", |count| {
        recipe(
            "peat: 1".to_owned(),
            format!("changes: [{{for: [{}], sieve: 3 mm}}]", many(count, |_| "kale".to_owned())),
        )
    });
    at_most(1000, "families", |count| {
        let families = many(count, |_| "Fabaceae".to_owned());
        recipe("peat: 1".to_owned(), format!("changes: [{{for: {{family: [{families}]}}, sieve: 3 mm}}]"))
    });
    at_most(100, "ingredients", |count| {
        let drop = many(count, |number| format!("i{number}"));
        recipe("peat: 1".to_owned(), format!("changes: [{{for: kale, drop: [{drop}]}}]"))
    });
}

#[test]
fn of_a_stock_file() {
    at_most(40, "packages of peat", |count| {
        format!(
            "stock: s\npackages: {{peat: [{}]}}\n",
            many(count, |number| format!("{{label: bag {number}, gives: 9 L}}"))
        )
    });
    at_most(100, "amounts in a sum", |count| {
        format!("stock: s\non_hand: {{peat: {}}}\n", many(count, |_| "1 L".to_owned()).replace(", ", " + "))
    });
    at_most(10_000, "ingredients", |count| format!("stock: s\n{}", own(count)));
}

#[test]
fn of_a_week() {
    let week = |sowings: usize, more: String| {
        let sowings = many(sowings, |_| "{crop: kale, cells: 4, tray: 50-cell}".to_owned());
        format!("week: w\nrecipe: own\nsowings: [{sowings}]\n{more}\n")
    };
    at_most(50_000, "sowings", |count| week(count, String::new()));
    at_most(100, "ingredients", |count| {
        week(1, format!("use: [{}]", many(count, |_| "coir".to_owned()))).replace("recipe: own", "recipe: everyday")
    });
    let season = |more: String| {
        format!(
            "season: s\nrecipe: own\nsowings: [{{crop: kale, cells: 4, tray: 50-cell, plant_out: 2027-04-17{more}}}]\n"
        )
    };
    at_most(100, "further plantings", |count| season(format!(", again: [{}]", many(count, |_| "1 day".to_owned()))));
    at_most(7, "days", |count| format!("place: p\nmix_days: [{}]\n", many(count, |_| "friday".to_owned())));
    at_most(10_000, "trays", |count| {
        week(1, format!("trays: {{{}}}", many(count, |number| format!("t{number}: {{cells: 9, cell: 9 mL}}"))))
    });
    at_most(10_000, "crops", |count| {
        week(1, format!("crops: {{{}}}", many(count, |number| format!("c{number}: {{mycorrhiza: host}}"))))
    });
}

#[test]
fn of_an_option() {
    let bench = Bench::new(&[("own.yaml", "recipe: own\nparts: {peat or coir: 3, perlite: 1}\n")]);
    let repeated = |line: &str, option: &str, count: usize| {
        let said = bench.run(&(line.to_owned() + &format!(" {option}").repeat(count)));
        (said.code, said.err)
    };
    for (line, option, most) in [
        ("scale @own.yaml", "--tray 50-cell=1", 1000),
        ("fill @own.yaml --tray 50-cell", "--have peat=9_L", 1000),
        ("scale @own.yaml --make 9_L", "--use coir", 100),
    ] {
        assert!(repeated(line, option, most).0 < 2, "{:?}", repeated(line, option, most));
        let (code, err) = repeated(line, option, most + 1);
        assert!(code == 2 && err.contains(&format!("may stand {most} times at most")), "{err}");
    }
}

#[test]
fn of_mixes_at_hand() {
    at_most(100, "mixes", |count| {
        let mixes = |count, amount| many(count, |_| format!("{{name: m, parts: {{peat: 1}}, amount: {amount}}}"));
        format!("stock: s\nmixes: [{}, {}]\n", mixes(300, "0 L"), mixes(count, "1 L"))
    });
    at_most(10_000, "lines of mixes", |count| {
        format!("stock: s\nmixes:\n{}", "- {name: m, parts: {peat: 1}, amount: 0 L}\n".repeat(count))
    });
}

#[test]
fn of_a_course() {
    at_most(100, "steps", |count| {
        let steps = many(count, |_| "{do: rinse, water: 9 L}".to_owned());
        format!("soak: s\ncoir: {{dry: 1 kg}}\nsteps: [{steps}]\n")
    });
}

/// Each crop has a mix of its own, of an ingredient of its own.
#[test]
fn of_the_mixes_of_a_week() {
    let each = |form: &str| many(1000, |number| form.replace('#', &number.to_string()));
    let recipe =
        format!("recipe: own\nparts: {{peat: 1}}\nchanges: [{}]\n", each("{for: c#, drop: peat, add: {i#: 1}}"));
    let week = |more: &str| {
        format!(
            "week: w\nrecipe: own\ncrops: {{{}}}\n{}sowings: [{}{more}]\n",
            each("c#: {mycorrhiza: host}"),
            own(1000),
            each("{crop: c#, cells: 4, tray: 50-cell}")
        )
    };
    let bench = Bench::new(&[("own.yaml", &recipe), ("week.yaml", &week(""))]);
    assert_eq!(bench.run("check @week.yaml").code, 0);
    bench.write("week.yaml", &week(", {crop: kale, cells: 4, tray: 50-cell}"));
    let said = bench.run("check @week.yaml");
    assert!(said.code == 2 && said.err.contains("1001 mixes are too many to make: at most 1000"), "{}", said.err);
}
