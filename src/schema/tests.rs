//! Makes the schemas of what the readers ask of a file that has everything in it, and holds those that are kept to them.

use super::tests_of_texts as texts;
use super::*;
use crate::checked::ask;
use crate::diagnostic::{Asked, Looks, Problem, Problems, SourceText, Span};
use crate::source::{Memory, Node, Value, parse};
use serde_json::Map;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

/// The files with everything in them, one after another where a value has several forms.
const WHOLE: [(&str, &str); 6] = [
    ("week", include_str!("week.yaml")),
    ("recipe", include_str!("recipe.yaml")),
    ("soak", include_str!("soak.yaml")),
    ("stock", include_str!("stock.yaml")),
    ("place", include_str!("place.yaml")),
    ("season", include_str!("season.yaml")),
];

/// The schema of a kind of file, made of what its readers ask; a table stands for the names in it.
fn made(kind: &str) -> Json {
    let mut maker = Maker::default();
    let texts = WHOLE.iter().find(|(known, _)| *known == kind).map_or("", |(_, text)| text);
    let mut root = Vec::new();
    for text in texts.split("---\n") {
        let source = Arc::new(SourceText { name: kind.to_owned(), text: text.to_owned() });
        let problems = Problems::recording(Arc::clone(&source));
        ask(kind, &problems, &Memory::default().with("place.yaml", "place: p\n"), Path::new(""));
        let asked = problems.into_asked();
        if let Some(node) = parse(&source.text, &Problems::new(Arc::clone(&source))) {
            maker.take(&asked);
            root.extend(maker.made(&node, &asked));
        }
    }
    if ["week", "season"].contains(&kind) {
        // What of these it leaves out, its place may say.
        let shared = maker.maps.iter_mut().filter(|map| ["a rack", "the frost dates"].contains(&map.what));
        shared.flat_map(|map| &mut map.keys).for_each(|key| key.required = false);
    }
    let mut schema = Map::new();
    schema.insert("$schema".to_owned(), json!("https://json-schema.org/draft/2020-12/schema"));
    schema.insert("title".to_owned(), json!(format!("trayful: {kind} file")));
    schema.insert("allOf".to_owned(), json!([any_of(root)]));
    schema.insert("$defs".to_owned(), maker.maps.into_iter().map(|map| (slug(map.what), map.schema())).collect());
    Json::Object(schema)
}

/// The schemas of maps, as far as they are known.
#[derive(Default)]
struct Maker {
    maps: Vec<MapMade>,
}

/// A map with the keys that its reader asks for.
struct MapMade {
    what: &'static str,
    keys: Vec<KeyMade>,
    one_of: BTreeSet<Vec<&'static str>>,
}

struct KeyMade {
    name: &'static str,
    required: bool,
    typed: Option<Json>,
    others: Vec<Json>,
}

impl Maker {
    fn map(&mut self, what: &'static str) -> &mut MapMade {
        let place = self.maps.iter().position(|map| map.what == what).unwrap_or_else(|| {
            self.maps.push(MapMade { what, keys: Vec::new(), one_of: BTreeSet::new() });
            self.maps.len() - 1
        });
        &mut self.maps[place]
    }

    /// The keys that were asked for. One is required if it was wherever such a map was read.
    fn take(&mut self, asked: &[Asked]) {
        for one in asked {
            match one {
                Asked::Key { what, key, looks, .. } => {
                    let key = self.map(what).key(key);
                    // Of one that is read twice both must hold: any text says least.
                    key.typed =
                        of_looks(looks).filter(|one| !texts::is_free(one)).or(key.typed.take()).or(of_looks(looks));
                    let read = asked.iter().filter_map(|one| match one {
                        Asked::Map { at, what: other } if other == what => Some(at),
                        _ => None,
                    });
                    let name = key.name;
                    let is_required = |map: &Span| {
                        asked.iter().any(|one| match one {
                            Asked::Key { at, what: other, key, required, .. } => {
                                *required && (at, other, *key) == (map, what, name)
                            }
                            _ => false,
                        })
                    };
                    key.required &= read.into_iter().all(is_required);
                }
                Asked::OneOf { what, keys } => drop(self.map(what).one_of.insert(keys.clone())),
                _ => {}
            }
        }
    }

    /// What a value may be, by what was asked of it.
    fn made(&mut self, node: &Node<'_>, asked: &[Asked]) -> Vec<Json> {
        match &node.value {
            Value::Null => Vec::new(),
            Value::Text(_) => vec![of_text(node.at, asked)],
            Value::List(list) => {
                let items: Vec<Json> = list.iter().flat_map(|entry| self.made(entry, asked)).collect();
                // One alone counts as a list of one.
                vec![any_of(items.clone()), json!({"type": "array", "items": any_of(items)})]
            }
            Value::Map(entries) => {
                let opened = asked.iter().find_map(|one| match one {
                    Asked::Map { at, what } if *at == node.at => Some(*what),
                    _ => None,
                });
                let Some(what) = opened else { return vec![self.names(entries, asked)] };
                for (name, value) in entries {
                    let schemas = self.made(value, asked);
                    let known =
                        name.text().and_then(|name| self.map(what).keys.iter_mut().find(|key| key.name == name));
                    known.into_iter().for_each(|key| key.others.extend(schemas.iter().cloned()));
                }
                vec![json!({"$ref": format!("#/$defs/{}", slug(what))})]
            }
        }
    }

    /// A map with names of the user's.
    fn names(&mut self, entries: &[(Node<'_>, Node<'_>)], asked: &[Asked]) -> Json {
        let values: Vec<Json> = entries.iter().flat_map(|(_, value)| self.made(value, asked)).collect();
        let names: Vec<Json> = entries.iter().filter_map(|(name, _)| named(name.at, asked)).collect();
        let mut schema = json!({"type": "object", "additionalProperties": any_of(values)});
        if !names.is_empty() {
            schema["propertyNames"] = any_of(names.into_iter().chain([json!({"type": "string"})]).collect());
        }
        schema
    }
}

impl MapMade {
    fn key(&mut self, name: &'static str) -> &mut KeyMade {
        let place = self.keys.iter().position(|key| key.name == name).unwrap_or_else(|| {
            self.keys.push(KeyMade { name, required: true, typed: None, others: Vec::new() });
            self.keys.len() - 1
        });
        &mut self.keys[place]
    }

    fn schema(self) -> Json {
        let required: Vec<&str> = self.keys.iter().filter(|key| key.required).map(|key| key.name).collect();
        let keys = self.keys.into_iter().map(|KeyMade { name, required, typed, others }| {
            // What was asked of a text may be less than its type says.
            let is_typed = typed.as_ref().is_some_and(|typed| !texts::is_free(typed));
            let others = others.into_iter().filter(|other| !(is_typed && texts::is_free(other)));
            let mut schemas: Vec<Json> = others.chain(typed).collect();
            // A key that is asked for only to be refused has no value that would do.
            let never = schemas.is_empty();
            schemas.extend((!required).then(|| json!({"type": "null"})));
            (name.to_owned(), if never { json!(false) } else { any_of(schemas) })
        });
        let keys: Map<String, Json> = keys.collect();
        let mut schema =
            json!({"type": "object", "title": self.what, "properties": keys, "additionalProperties": false});
        if !required.is_empty() {
            schema["required"] = json!(required);
        }
        for keys in self.one_of {
            schema["oneOf"] = keys.iter().map(|key| json!({"required": [key]})).collect();
        }
        schema
    }
}

/// A word for a map: `sowing` of `a sowing`.
fn slug(what: &str) -> String {
    let word = ["a ", "an ", "the "].iter().find_map(|article| what.strip_prefix(article)).unwrap_or(what);
    word.replace(' ', "-")
}

fn any_of(schemas: Vec<Json>) -> Json {
    let mut apart: Vec<Json> = Vec::new();
    for schema in schemas {
        let inner = match schema {
            Json::Object(mut map) if map.len() == 1 && map.contains_key("anyOf") => map.remove("anyOf"),
            other => Some(Json::Array(vec![other])),
        };
        for one in inner.as_ref().and_then(Json::as_array).into_iter().flatten() {
            if !apart.contains(one) {
                apart.push(one.clone());
            }
        }
    }
    if apart.len() == 1 { apart.remove(0) } else { json!({"anyOf": apart}) }
}

/// What a type tells of itself.
fn of_looks(looks: &Looks) -> Option<Json> {
    Some(match looks {
        Looks::Unknown => return None,
        Looks::Text { expected, reads } => texts::schema(expected, *reads),
        Looks::List(one) => {
            let one = of_looks(one)?;
            any_of(vec![one.clone(), json!({"type": "array", "items": one})])
        }
        Looks::Names(one) => json!({"type": "object", "additionalProperties": of_looks(one)?}),
    })
}

/// What was asked of a text.
fn of_text(at: Span, asked: &[Asked]) -> Json {
    let typed = asked.iter().find_map(|one| match one {
        Asked::Value { at: place, looks } if *place == at => of_looks(looks),
        _ => None,
    });
    let expected = || {
        asked.iter().find_map(|one| match one {
            Asked::Text { at: place, expected } if *place == at => Some(expected.as_str()),
            _ => None,
        })
    };
    let text = typed.unwrap_or_else(|| texts::free(expected().unwrap_or("a text")));
    let names = named(at, asked).filter(|_| texts::is_free(&text));
    any_of(names.into_iter().chain([text]).collect())
}

/// The names that are known where one stands; others are allowed.
fn named(at: Span, asked: &[Asked]) -> Option<Json> {
    let table = asked.iter().find_map(|one| match one {
        Asked::Named { at: place, table } if at.start <= place.start && place.end <= at.end => Some(*table),
        _ => None,
    })?;
    Some(json!({"enum": table}))
}

/// `INSTA_UPDATE=always` writes them anew.
#[test]
fn what_is_kept_is_what_the_readers_ask() {
    for (kind, kept) in KEPT {
        let made = format!("{:#}\n", made(kind));
        if std::env::var_os("INSTA_UPDATE").is_some_and(|update| update == "always") {
            std::fs::write(format!("{}/src/schema/{kind}.json", env!("CARGO_MANIFEST_DIR")), made).unwrap();
        } else {
            assert!(kept == made, "the schema of a {kind} file: run the tests with INSTA_UPDATE=always");
        }
    }
}
/// The keys of each map by its schema.
fn keys(kind: &str) -> BTreeMap<String, BTreeSet<String>> {
    let schema = of(kind);
    let maps = schema["$defs"].as_object().unwrap().iter();
    let keys = maps.map(|(slug, map)| {
        let keys = map["properties"].as_object().unwrap().keys().cloned().collect();
        (slug.clone(), keys)
    });
    keys.collect()
}

/// What the readers say that a map may have, asked by a key that none knows: at the head of every map.
fn told(kind: &str, texts: &str) -> BTreeMap<String, BTreeSet<String>> {
    let mut told: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for text in texts.split("---\n") {
        let text = text.replace('{', "{zzqq: 1, ") + "zzqq: 1\n";
        let problems = Problems::new(SourceText::argument(kind, &text));
        ask(kind, &problems, &Memory::default().with("place.yaml", "place: p\n"), Path::new(""));
        let rejected = problems.settle(None::<()>).unwrap_err();
        let unknown =
            rejected.problems().filter(|(_, Problem { what, .. })| what.starts_with("`zzqq` is not a key of "));
        for (_, Problem { help, .. }) in unknown {
            let (what, keys) = help.as_ref().unwrap().split_once(" may have: ").unwrap();
            told.entry(slug(what)).or_default().extend(keys.split(", ").map(str::to_owned));
        }
    }
    told
}

#[test]
fn the_keys_are_those_that_the_readers_know() {
    for (kind, texts) in WHOLE {
        assert_eq!(keys(kind), told(kind, texts), "{kind}");
    }
    let sowing = |more: &[&str]| {
        crate::week::SOWING_KEYS.iter().chain(more).map(|key| (*key).to_owned()).collect::<BTreeSet<_>>()
    };
    assert_eq!(keys("week")["sowing"], sowing(&["plant_out", "leaves", "to_frame"]));
    assert_eq!(keys("season")["sowing"], sowing(&["plant_out", "sow", "weeks", "harden", "again", "then"]));
}

/// A key of which nothing is known would allow anything, and one without a form nothing: none but these, which are
/// asked for only to say where they belong.
#[test]
fn every_key_has_a_form() {
    let mut never = Vec::new();
    for kind in KINDS {
        for (slug, map) in of(kind)["$defs"].as_object().unwrap() {
            for (key, schema) in map["properties"].as_object().unwrap() {
                assert!(*schema != json!({}), "{kind}: {slug}: {key}");
                never.extend((*schema == json!(false)).then(|| format!("{kind}: {slug}: {key}")));
            }
        }
    }
    let inner = ["allowances: yield", "soak: steps"];
    let mut expected = ["week", "place", "season"].map(|kind| inner.map(|key| format!("{kind}: {key}"))).concat();
    expected.insert(4, "season: season: mix_on".to_owned());
    assert_eq!(never, expected);
}

#[test]
fn names_are_offered_and_others_allowed() {
    let crop = &of("week")["$defs"]["sowing"]["properties"]["crop"]["anyOf"];
    assert!(crop[0]["enum"].as_array().unwrap().contains(&json!("kale")));
    assert!(texts::is_free(&crop[1]));
    let parts = &of("recipe")["$defs"]["recipe"]["properties"]["parts"];
    assert!(parts["propertyNames"]["anyOf"][0]["enum"].as_array().unwrap().contains(&json!("perlite")));
    assert_eq!(parts["additionalProperties"]["exclusiveMinimum"], json!(0));
    assert_eq!(of("stock")["$defs"]["package"]["required"], json!(["label"]));
}
