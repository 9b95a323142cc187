//! A course of the grower's own, step by step.

use super::super::salt_named;
use super::values::{HOURS_EXPECTED, accept, figure, hours, litres, map};
use crate::coir::{Action, CourseStep, Salt};
use crate::diagnostic::{Code, Problem, Problems, Span};
use crate::source::{Fields, Node, list, word};
use crate::units::measured;

/// The steps, in order.
pub(super) fn read_steps(node: &Node<'_>, problems: &Problems) -> Vec<CourseStep> {
    if list(node).is_empty() {
        problems.push(Problem::new(Code::Soak, node.at, "the course has no steps", "at least one step"));
    }
    list(node).iter().filter_map(|entry| read_step(entry, problems)).collect()
}

fn read_step(node: &Node<'_>, problems: &Problems) -> Option<CourseStep> {
    let before = problems.len();
    let mut fields = Fields::new(node, "a step", problems)?;
    let actions = Action::ALL.map(|action| (action.word(), action));
    let action = fields.require("do").and_then(|node| word(node, &actions, problems));
    let water = fields.require("water");
    let water_l = water.and_then(|node| litres(node, "water such as `10 L`", problems));
    let hours = fields.get("hours").and_then(|node| figure(node, HOURS_EXPECTED, problems, hours));
    let dose = |name: &str, at, value: &Node<'_>| {
        let salt = salt_named(name, at, problems)?;
        Some((salt, read_mol(value, salt, water_l.unwrap_or(1.0), problems)?, value.at))
    };
    let salts = fields.get("salts").and_then(|node| map(node, "salts", problems, dose));
    let gypsum = fields.get("gypsum").and_then(|node| dose("gypsum", node.at, node));
    fields.finish();
    if problems.len() > before {
        return None;
    }
    let mut step = accept(CourseStep::new(action?, water_l?), water?.at, "a bath", problems)?;
    if let Some(hours) = hours {
        step = accept(step.with_hours(hours), node.at, "hours of a step", problems)?;
    }
    salts.into_iter().flatten().chain(gypsum).try_fold(step, |step, (salt, mol, at): (&Salt, f64, Span)| {
        accept(step.with_salt(salt.clone(), mol), at, "a bath that the model can stand for", problems)
    })
}

/// Moles of a salt: by `mmol/L` or `g/L` of the step's water, or by `g` or `mol` outright.
fn read_mol(node: &Node<'_>, salt: &Salt, water_l: f64, problems: &Problems) -> Option<f64> {
    const EXPECTED: &str = "an amount such as `25 mmol/L`, `3 g/L`, `130 g` or `0.3 mol`";
    const PER_LITRE: &[(&str, f64)] = &[("mmol/l", 0.001), ("mol/l", 1.0), ("mmol/kg", 0.001)];
    const GRAMS_PER_LITRE: &[(&str, f64)] = &[("g/l", 1.0), ("mg/l", 0.001)];
    const GRAMS: &[(&str, f64)] = &[("g", 1.0), ("kg", 1000.0), ("mg", 0.001)];
    const MOLES: &[(&str, f64)] = &[("mol", 1.0), ("mmol", 0.001)];
    figure(node, EXPECTED, problems, |text| {
        let read = |units| measured(text, "amount of salt", units);
        read(PER_LITRE)
            .map(|mol| mol * water_l)
            .or_else(|_| read(GRAMS_PER_LITRE).map(|grams| salt.moles(grams * water_l)))
            .or_else(|_| read(GRAMS).map(|grams| salt.moles(grams)))
            .or_else(|_| read(MOLES))
    })
}
