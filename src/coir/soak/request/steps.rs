//! A course of the grower's own, step by step.

use super::super::salt_named;
use super::values::{Hours, SaltAmount, accept, map};
use crate::coir::{CourseStep, Salt};
use crate::diagnostic::{Code, Problems, Span};
use crate::source::{Fields, FromNode, Node, list, no_more_than};
use crate::units::{Volume, to_litres};

/// The most steps of a course: of a thousand hours each, in a hundred runs, they stay within the calendar.
const MOST_STEPS: usize = 100;

/// The steps, in order.
pub(super) fn read_steps(node: &Node<'_>, problems: &Problems) -> Vec<CourseStep> {
    if list(node).is_empty() {
        problems.fault(Code::Soak, node.at, "the course has no steps", "at least one step");
    }
    let steps = no_more_than(list(node), MOST_STEPS, "steps", node.at, problems);
    steps.iter().filter_map(|entry| read_step(entry, problems)).collect()
}

fn read_step(node: &Node<'_>, problems: &Problems) -> Option<CourseStep> {
    let mut fields = Fields::new(node, "a step", problems)?;
    let action = fields.required("do");
    let water_l = fields.required::<Volume>("water").map(to_litres);
    let water_at = fields.place("water");
    let hours = fields.optional("hours").map(|Hours(hours)| hours);
    let dose = |name: &str, at, value: &Node<'_>| {
        let salt = salt_named(name, at, problems)?;
        let amount = SaltAmount::from_node(value, problems)?;
        Some((salt, amount.moles(salt, water_l.unwrap_or(1.0)), value.at))
    };
    let salts = fields.get("salts").and_then(|node| map(node, "salts", problems, dose));
    let gypsum = fields.get("gypsum").and_then(|node| dose("gypsum", node.at, node));
    fields.finish()?;
    let mut step = accept(CourseStep::new(action?, water_l?), water_at, "a bath", problems)?;
    if let Some(hours) = hours {
        step = accept(step.with_hours(hours), node.at, "hours of a step", problems)?;
    }
    salts.into_iter().flatten().chain(gypsum).try_fold(step, |step, (salt, mol, at): (&Salt, f64, Span)| {
        accept(step.with_salt(salt.clone(), mol), at, "a bath that the model can stand for", problems)
    })
}
