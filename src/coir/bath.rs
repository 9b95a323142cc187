//! Coir between two steps, and what the bath of a step does to it.

use super::{Amounts, Coir, Model, Settled, SiteFractions, Solution, Suspension, gypsum};

/// What a step adds to the coir.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Addition {
    pub water_l: f64,
    pub dissolved_mol: Amounts,
    pub gypsum_mol: f64,
}

impl Addition {
    /// The bath as mixed, before the coir goes in.
    pub fn fresh(&self) -> Solution {
        let solution = |more: Amounts| Solution::speciate((self.dissolved_mol + more) * (1.0 / self.water_l));
        solution(gypsum::dissolved(gypsum::dissolving(self.gypsum_mol, 1.0, solution)))
    }
}

/// A bath at equilibrium with the coir, and what is left of it after draining.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bath {
    /// All the water: fresh and held.
    pub total_l: f64,
    /// Shares of the exchange sites.
    pub sites: SiteFractions,
    /// What is dissolved, mol per kg of water.
    pub solution: Solution,
    /// Solid gypsum that dissolved, mol.
    pub gypsum_dissolved_mol: f64,
    /// Solid gypsum that did not, mol.
    pub gypsum_left_mol: f64,
    /// Water that drains, L.
    pub drained_l: f64,
}

/// Coir between two steps, with the water that it holds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WetCoir {
    model: Model,
    capacity_mol: f64,
    holds_l: f64,
    sites: SiteFractions,
    held_l: f64,
    /// Ions in the water held; before the first step, the salts yet to dissolve.
    held_mol: Amounts,
}

impl WetCoir {
    pub fn new(dry_kg: f64, coir: &Coir, model: Model) -> Self {
        Self {
            model,
            capacity_mol: coir.capacity_mol_kg * dry_kg,
            holds_l: coir.holds_l_kg * dry_kg,
            sites: coir.sites,
            held_l: 0.0,
            held_mol: *coir.soluble.mol() * dry_kg,
        }
    }

    fn mixture(&self, addition: &Addition) -> Suspension {
        let dissolved_mol = self.held_mol + addition.dissolved_mol;
        Suspension::unchecked(self.capacity_mol, &self.sites, self.held_l + addition.water_l, dissolved_mol)
    }

    /// How much of the gypsum of a step dissolves before the bath is saturated to the given share.
    pub fn dissolving(&self, addition: &Addition, share: f64) -> f64 {
        let mixture = self.mixture(addition);
        gypsum::dissolving(addition.gypsum_mol, share, |mol| mixture.with(mol).settle(&self.model).solution)
    }

    /// One step: add, equilibrate, drain.
    pub fn bathe(&mut self, addition: &Addition) -> Bath {
        let total_l = self.held_l + addition.water_l;
        let mixture = self.mixture(addition);
        let mut tried = None;
        let gypsum_dissolved_mol = gypsum::dissolving(addition.gypsum_mol, 1.0, |mol| {
            let settled = mixture.with(mol).settle(&self.model);
            tried = Some((mol, settled));
            settled.solution
        });
        let dissolved = gypsum::dissolved(gypsum_dissolved_mol);
        // Where all of it dissolves, that was tried last.
        let settled = tried.filter(|(mol, _)| *mol == dissolved).map(|(_, settled)| settled);
        let Settled { sites, solution } = settled.unwrap_or_else(|| mixture.with(dissolved).settle(&self.model));
        self.sites = sites;
        self.held_l = total_l.min(self.holds_l);
        self.held_mol = solution.total * self.held_l;
        Bath {
            total_l,
            sites,
            solution,
            gypsum_dissolved_mol,
            gypsum_left_mol: addition.gypsum_mol - gypsum_dissolved_mol,
            drained_l: total_l - self.held_l,
        }
    }
}
