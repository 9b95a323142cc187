//! What texts look like, found by trying them on their reader.

use crate::units::{Fault, mass, volume};
use serde_json::{Map, Value as Json, json};

/// What is no value, and what has no unit that is one.
const NO_VALUE: &str = "qqqq q";
const NO_UNIT: &str = "1 qqqq";

type Reads = fn(&str) -> Result<(), Fault>;

/// `3`, `0.5`, `1/3`, `1 1/2`; nothing is divided by zero.
const NUMBER: &str =
    r"([0-9]+\.?[0-9]*|\.[0-9]+)( *([0-9]+\.?[0-9]*)?/(?!0*[.]?0*([^0-9.]|$))([0-9]+\.?[0-9]*|\.[0-9]+))?";
/// Any unit; `1e3` has none.
const UNIT: &str = r"(?![eE][-+]?[0-9])[a-zA-Zµ][a-zA-Z0-9µ³. -]*";
/// Not so many times nothing.
const SOME: &str = r"(?!0*[.]?0*[^0-9./])";

/// Forms in which values are written: texts of the form, of which a reader of it takes one, and the form in which
/// `#` stands for a number and `@` for a unit. Wider than the readers, never narrower.
const FORMS: [(&[&str], &str); 24] = [
    (&["last frost + 2 weeks"], "[a-zA-Z]+ +[fF][rR][oO][sS][tT]( *[-+−] *[0-9]+ *[a-zA-Z]+)?"),
    (&["2 weeks"], "[0-9]+ *([dD][aA][yY]|[wW][eE][eE][kK])[sS]?"),
    (&["10 May", "20 March"], ".*[a-zA-Z]{3}.*"),
    (&["0 %"], "0*[.]?0* *%"),
    (
        &["5 %", "50 %", "90 %"],
        "(?!0*[.]?0* *%)([0-9]{1,2}([.][0-9]*)?|[.][0-9]+|[0-9]* *[0-9]+/[0-9]+) *(%|[pP][eE][rR][cC][eE][nN][tT])",
    ),
    (&["100 %"], "100([.]0*)? *(%|[pP][eE][rR][cC][eE][nN][tT])"),
    (&["4-6"], "[0-9]+ *[-–] *[0-9]+"),
    (&["2027-03-06"], "[12][0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"),
    (
        &["2027-03-06 to 2027-03-07"],
        "[12][0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01]) +to +[12][0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])",
    ),
    (
        &["2027-03-06 10:00"],
        "[12][0-9]{3}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])[T ] *([01]?[0-9]|2[0-3]):[0-5][0-9](:[0-5][0-9]([.][0-9]+)?)?",
    ),
    (&["10:00"], "[0-9]{1,2}:[0-9]{2}"),
    (&["07:00-21:00"], "[0-9]{1,2}:[0-9]{2} *[-–] *[0-9]{1,2}:[0-9]{2}"),
    (&["no"], "[nN][oO]"),
    (&["EUR"], "[a-zA-Z]{3}"),
    (&["24.90 EUR", "EUR 24.90"], "([a-zA-Z]{3} *)?#( *[a-zA-Z]{3})?"),
    (&["6 pots"], "[0-9]+ *(pots?|plants?)"),
    (&["350/g"], "# */ *g"),
    (&["54 x 28 cm"], "# *[x×] *# *@"),
    (&["0.5-0.6", "5.5-6.5"], "# *[-–] *#"),
    (&["55-60 %"], "# *[-–] *# *(%|[pP][eE][rR][cC][eE][nN][tT])"),
    (&["27-33 mL", "130-180 g/L", "6-13 mm", "1-2 mS/cm"], "# *[-–] *# *@(/@)?"),
    (&["under 15 mL"], "(under|over) +# *@"),
    (&["5 kg block"], "# *@.*"),
    (&["200 g/L", "1 mmol/L", "1 mol/kg", "1 kg/kg", "1 mS/cm"], "# *@(/| per ) *(# *)?@"),
];

/// Units of which a reader that takes none of the tables' may take one.
const OTHERS: [&str; 6] = ["1 h", "24 h", "1 g", "1 mol", "1 mm", "1 L"];

/// The schema of a text that a reader takes.
pub(super) fn schema(expected: &str, reads: Reads) -> Json {
    match reads(NO_VALUE) {
        Ok(()) => free(expected),
        Err(Fault::Choice { known, .. }) if !known.is_empty() => described(expected, words(&known)),
        Err(_) => described(expected, figures(reads)),
    }
}

/// Any text; what YAML takes for a number or a truth is one, too.
pub(super) fn free(expected: &str) -> Json {
    described(expected, json!({"type": ["string", "number", "boolean"]}))
}

/// Whether it is any text.
pub(super) fn is_free(schema: &Json) -> bool {
    schema["type"].as_array().is_some_and(|types| types.len() == 3)
}

fn described(expected: &str, mut schema: Json) -> Json {
    schema["description"] = json!(expected);
    schema
}

fn words(known: &[&str]) -> Json {
    let mut values: Vec<Json> = known.iter().map(|word| json!(word)).collect();
    // YAML's own truths.
    for (word, truth) in [("yes", true), ("no", false)] {
        values.extend(known.contains(&word).then(|| json!(truth)));
    }
    let pattern = format!("^ *({}) *$", known.iter().map(|word| any_case(word)).collect::<Vec<_>>().join("|"));
    json!({"anyOf": [{"enum": values}, {"type": "string", "pattern": pattern}]})
}

/// What matches a word whatever its case.
fn any_case(word: &str) -> String {
    let letters = word.chars().map(|c| match c {
        c if c.is_alphabetic() && c.to_lowercase().ne(c.to_uppercase()) => {
            format!("[{}{}]", c.to_lowercase(), c.to_uppercase())
        }
        ' ' => " +".to_owned(),
        c if c.is_alphanumeric() => c.to_string(),
        c => format!("[{c}]"),
    });
    letters.collect()
}

/// What matches the units that a fault tells of, if it does.
fn units(fault: Result<(), Fault>) -> Option<String> {
    let Err(Fault::UnknownUnit { kind: "volume" | "mass" | "length", known, .. }) = fault else { return None };
    Some(format!("({})[.]?", known.iter().map(|unit| any_case(unit)).collect::<Vec<_>>().join("|")))
}

/// Every form that the reader takes, but for a bare number.
fn forms(reads: Reads) -> Vec<String> {
    let takes = |text: &&str| reads(text).is_ok();
    // A dose in a volume: its fault tells the volumes, and those of other readers the rest.
    if let Some(per) = units(reads("1 g/qqqq")).filter(|_| takes(&"1 mL/L")) {
        let doses = [units(mass(NO_UNIT).map(|_| ())), units(volume(NO_UNIT).map(|_| ()))];
        let doses = doses.into_iter().flatten().collect::<Vec<_>>().join("|");
        return vec![format!("{SOME}# *({doses}) *(/| per ) *(# *)?{per}")];
    }
    let found = FORMS.iter().filter(|(texts, _)| texts.iter().any(takes)).map(|(_, form)| (*form).to_owned());
    let mut forms: Vec<String> = found.collect();
    let some = if ["0 L", "0 g", "0 mm", "0 h"].iter().any(takes) { "" } else { SOME };
    match units(reads(NO_UNIT)) {
        Some(units) => forms.push(format!("{some}# *{units}")),
        None if OTHERS.iter().any(takes) => forms.push(format!("{some}# *@")),
        None => {}
    }
    forms
}

/// Numbers within their bounds, and every other form that the reader takes.
fn figures(reads: Reads) -> Json {
    let mut forms = forms(reads);
    let number = number(&|text| reads(text).is_ok());
    forms.extend(number.as_ref().map(|number| if number["type"] == "integer" { "[0-9]+" } else { "#" }.to_owned()));
    if forms.is_empty() {
        return free("");
    }
    let pattern: Vec<String> = forms.iter().map(|form| form.replace('@', UNIT).replace('#', NUMBER)).collect();
    let mut schema = number.unwrap_or_default();
    let types = schema.get("type").map_or_else(|| json!("string"), |number| json!([number, "string"]));
    schema.insert("type".to_owned(), types);
    schema.insert("pattern".to_owned(), json!(format!("^ *({}) *$", pattern.join("|"))));
    Json::Object(schema)
}

/// The bounds of a bare number, if one is taken.
fn number(takes: &dyn Fn(&str) -> bool) -> Option<Map<String, Json>> {
    const BEYOND: u64 = 1 << 50;
    let whole = |number: u64| takes(&number.to_string());
    let some = [1, 2, 5, 20, 100, 1000, 2000].into_iter().find(|number| whole(*number))?;
    let mut schema = Map::new();
    let is_whole = !["0.5", "1.5", "2.5", "5.5", "50.5"].iter().any(|text| takes(text));
    schema.insert("type".to_owned(), json!(if is_whole { "integer" } else { "number" }));
    let is_below_one = ["0.5", "0.001", "0.01"].iter().any(|text| takes(text));
    match whole(0) {
        true => schema.insert("minimum".to_owned(), json!(0)),
        false if is_below_one => schema.insert("exclusiveMinimum".to_owned(), json!(0)),
        false => {
            let (mut below, mut least) = (0, some);
            while least - below > 1 {
                let middle = below.midpoint(least);
                if whole(middle) { least = middle } else { below = middle }
            }
            schema.insert("minimum".to_owned(), json!(least))
        }
    };
    if !whole(BEYOND) {
        let (mut most, mut beyond) = (some, BEYOND);
        while beyond - most > 1 {
            let middle = most.midpoint(beyond);
            if whole(middle) { most = middle } else { beyond = middle }
        }
        schema.insert("maximum".to_owned(), json!(most));
    }
    Some(schema)
}
