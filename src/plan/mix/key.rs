//! What makes two mixes the same.

use crate::catalogue::{Handle, Ingredient};
use crate::exact::Fraction;
use crate::recipe::{Basis, Composition};
use crate::units::Rate;

/// A composition with its proportions reduced, so that equal mixes are equal keys, whatever is kept of each on
/// blending.
#[derive(PartialEq, Eq, Hash)]
pub(in crate::plan) struct MixKey {
    shares: Vec<(Handle<Ingredient>, Fraction)>,
    doses: Vec<(Handle<Ingredient>, Basis, Rate)>,
    sieve: Option<u64>,
}

impl MixKey {
    pub(super) fn of(composition: &Composition) -> Option<Self> {
        let mut shares = composition.shares()?;
        shares.sort_by(|(one, _), (other, _)| one.cmp(other));
        let doses = composition.doses.iter();
        let mut doses: Vec<_> = doses.map(|dose| (dose.ingredient.clone(), dose.basis.clone(), dose.rate)).collect();
        doses.sort_by_key(|(id, basis, rate)| (id.clone(), basis.clone(), rate.spoon().is_some()));
        Some(Self { shares, doses, sieve: composition.mesh_nm() })
    }
}
