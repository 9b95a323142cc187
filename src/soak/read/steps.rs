//! A course of the grower's own, step by step.

use super::{fault, hours, litres};
use crate::catalogue::salt_named;
use crate::coir::{Action, Salt, Step};
use crate::diagnostic::{Code, Problem, Problems};
use crate::source::{Fields, Node, Value, entries, list, text_of, word};
use crate::units::{measured, volume};

/// The steps, in order.
pub(super) fn read_steps(node: &Node<'_>, problems: &Problems) -> Vec<Step> {
    if list(node).is_empty() {
        problems.push(Problem::new(Code::Soak, node.at, "the course has no steps", "at least one step"));
    }
    list(node).iter().filter_map(|entry| read_step(entry, problems)).collect()
}

fn read_step(node: &Node<'_>, problems: &Problems) -> Option<Step> {
    const ACTIONS: [(&str, Action); 4] =
        [("hydrate", Action::Hydrate), ("wash", Action::Wash), ("soak", Action::Soak), ("rinse", Action::Rinse)];
    let before = problems.len();
    let mut fields = Fields::new(node, "a step", problems)?;
    let action = fields.require("do").and_then(|node| word(node, &ACTIONS, problems));
    let water_node = fields.require("water");
    let water = fields.quantity("water", "water such as `10 L`", volume);
    let hours = fields.quantity("hours", "hours such as `24`", hours);
    let water_l = water.map(|water| litres(water, problems));
    let mut doses = Vec::new();
    if let Some(salts) = fields.get("salts") {
        for (name, key, value) in entries(salts, "salts", problems).unwrap_or_default() {
            if let Some(salt) = salt_named(name, key.at, problems)
                && let Some(mol) = read_dose(value, salt, water_l.unwrap_or(1.0), problems)
            {
                doses.push((salt, mol, value.at));
            }
        }
    }
    if let Some(value) = fields.get("gypsum")
        && let Some(gypsum) = salt_named("gypsum", value.at, problems)
        && let Some(mol) = read_dose(value, gypsum, water_l.unwrap_or(1.0), problems)
    {
        doses.push((gypsum, mol, value.at));
    }
    fields.finish();
    if problems.len() > before {
        return None;
    }
    let at = water_node?.at;
    let mut step = Step::new(action?, water_l?).map_err(|error| problems.push(fault(at, &error, "a bath"))).ok()?;
    if let Some(hours) = hours {
        step = step.with_hours(hours).map_err(|error| problems.push(fault(node.at, &error, "hours of a step"))).ok()?;
    }
    for (salt, mol, at) in doses {
        step = step
            .with_salt(salt.clone(), mol)
            .map_err(|error| problems.push(fault(at, &error, "a bath that the model can stand for")))
            .ok()?;
    }
    Some(step)
}

/// Moles of a salt: by `mmol/L` or `g/L` of the step's water, or by `g` or `mol` outright.
fn read_dose(node: &Node<'_>, salt: &Salt, water_l: f64, problems: &Problems) -> Option<f64> {
    const EXPECTED: &str = "an amount such as `25 mmol/L`, `3 g/L`, `130 g` or `0.3 mol`";
    const PER_LITRE: &[(&str, f64)] = &[("mmol/l", 0.001), ("mol/l", 1.0), ("mmol/kg", 0.001)];
    const GRAMS_PER_LITRE: &[(&str, f64)] = &[("g/l", 1.0), ("mg/l", 0.001)];
    const GRAMS: &[(&str, f64)] = &[("g", 1.0), ("kg", 1000.0), ("mg", 0.001)];
    const MOLES: &[(&str, f64)] = &[("mol", 1.0), ("mmol", 0.001)];
    let Value::Text(text) = &node.value else {
        text_of(node, EXPECTED, problems);
        return None;
    };
    let read = |units| measured(text, "amount of salt", units);
    let mol = read(PER_LITRE)
        .map(|mol| mol * water_l)
        .or_else(|_| read(GRAMS_PER_LITRE).map(|grams| salt.moles(grams * water_l)))
        .or_else(|_| read(GRAMS).map(|grams| salt.moles(grams)))
        .or_else(|_| read(MOLES));
    problems.quantity(node.at, mol, EXPECTED)
}
