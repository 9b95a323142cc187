//! The season for scripts and for a spreadsheet: names and numbers at full precision.

use super::SeasonReport;
use crate::moment::rfc3339;
use crate::report::buying::purchases_json;
use crate::report::plan::{entry_json, loose_json};
use crate::season::{CoirCourse, EntryOf, RackWeek, SeasonEntry, SownDay};
use crate::stock::money;
use crate::units::UnitSystem;
use serde_json::{Value, json};

/// The columns of the spreadsheet.
pub(super) const COLUMNS: &str = "on crop variety tray cells trays potted_on plant_out leaves_rack";

impl SeasonReport<'_> {
    pub(super) fn json(&self) -> Value {
        let plan = self.plan;
        let days: Vec<Value> = plan.days.iter().map(|day| self.day_json(day)).collect();
        let of_planting = |planting: usize| {
            let dated = &plan.plantings[planting];
            let crop = &self.season.loaded.week.sowings[dated.sowing].crop;
            json!({"crop": crop, "sow": dated.sow.to_string(), "plant_out": dated.plant_out.to_string()})
        };
        let outside = plan.outside().map(|(planting, dated)| with(of_planting(planting), "days", json!(dated.outside)));
        let late = plan.too_late.iter().map(|late| {
            let crop = &self.season.loaded.week.sowings[late.sowing].crop;
            let out = self.season.sowings[late.sowing].plant_out[late.number];
            json!({"crop": crop, "plant_out": out.to_string(), "why": self.late(late).0.code})
        });
        let shelf = plan.shelf.as_ref().and_then(|(on, shelf)| Some(json!({"on": on.to_string(), "kg": shelf.kg?})));
        let hardening = plan.hardening.map(|(from, trays)| json!({"from": from.to_string(), "trays": trays}));
        let spring = plan.spring.as_ref().map(|spring| {
            spring.iter().map(|(from, over)| json!({"from": from.to_string(), "over": over})).collect::<Value>()
        });
        json!({
            "format": "trayful-season/1",
            "title": plan.name,
            "today": plan.today.to_string(),
            "days": days,
            "rack": {
                "places": self.season.loaded.week.rack.map(|rack| rack.places),
                "occupied": self.season.loaded.week.rack.map(|rack| rack.occupied),
                "mats": plan.limits.mats,
                "frame": plan.limits.frame.as_ref().map(|frame| frame.places),
                "weeks": plan.rack.iter().map(|week| self.week_json(week)).collect::<Value>(),
            },
            "shelf": shelf,
            "hardening": hardening,
            "cold_spring": spring,
            "fits": plan.fits(),
            "proven": plan.proven,
            "outside_weeks": outside.collect::<Value>(),
            "too_late": late.collect::<Value>(),
            "totals": {
                "trays": plan.totals.trays,
                "pots": plan.totals.pots,
                "mix_l": plan.totals.mix,
                "ingredients": loose_json(&plan.totals.ingredients),
            },
            "purchases": purchases_json(&plan.purchases),
            "bought_day_by_day_total": plan.day_by_day.map(money),
            "calendar": plan.calendar.iter().map(|entry| self.entry_json(entry)).collect::<Value>(),
            "cautions": self.cautions(UnitSystem::Metric),
            "notes": self.notes(UnitSystem::Metric),
        })
    }

    /// The rows of the spreadsheet.
    pub(super) fn plantings_json(&self) -> Value {
        let rows = self.plan.days.iter().flat_map(|day| {
            let sowings = self.sowings_json(day).into_iter();
            sowings.map(|sowing| with(sowing, "on", json!(day.on.to_string())))
        });
        rows.collect()
    }

    fn day_json(&self, day: &SownDay) -> Value {
        let batches = day.plan.mixes.batches.iter();
        let course = self.plan.coir.iter().find(|course| self.plan.days[course.days[0]].on == day.on);
        json!({
            "on": day.on.to_string(),
            "is_done": day.is_done,
            "sowings": self.sowings_json(day),
            "trays": day.trays,
            "over": day.over,
            "mix_l": day.plan.mixes.totals.mix,
            "batches": batches.map(|batch| json!({"name": batch.name, "mix_l": batch.volumes.mix})).collect::<Value>(),
            "coir_start": course.and_then(CoirCourse::start).map(rfc3339),
        })
    }

    fn sowings_json(&self, day: &SownDay) -> Vec<Value> {
        let planned = day.plan.mixes.layout.of(&day.loaded.week).zip(&day.sown);
        let sowing = planned.map(|((sowing, plan), sown)| {
            let dated = self.dated(*sown);
            json!({
                "crop": sowing.crop,
                "variety": sowing.variety.as_deref(),
                "tray": sowing.tray,
                "cells": plan.cells.cells,
                "trays": plan.trays,
                "potted_on": sown.potted,
                "plant_out": dated.plant_out.to_string(),
                "leaves_rack": dated.ends(sown.potted).to_string(),
            })
        });
        sowing.collect()
    }

    fn week_json(&self, week: &RackWeek) -> Value {
        let contents = week.contents.iter().map(|standing| {
            let crops =
                standing.sown.iter().map(|sown| &self.season.loaded.week.sowings[self.dated(*sown).sowing].crop);
            json!({
                "crops": crops.collect::<Vec<_>>(),
                "tray": standing.tray,
                "on": standing.on.to_string(),
                "places": standing.places,
                "framed": standing.framed,
                "on_mats": standing.on_mats,
            })
        });
        json!({
            "from": week.from.to_string(),
            "fullest_day": week.day.to_string(),
            "trays": week.trays,
            "over": week.over,
            "mats": week.mats,
            "mats_over": week.mats_over,
            "frame": week.frame,
            "contents": contents.collect::<Value>(),
        })
    }

    /// An entry, with the day of sowing that it is for.
    fn entry_json(&self, SeasonEntry { entry, of }: &SeasonEntry) -> Value {
        let day = match of {
            EntryOf::Day(day) => *day,
            EntryOf::Course(course) => self.plan.coir[*course].days[0],
        };
        with(entry_json(entry), "day", json!(self.plan.days[day].on.to_string()))
    }
}

/// An object with one more field.
fn with(mut object: Value, field: &str, value: Value) -> Value {
    object[field] = value;
    object
}
