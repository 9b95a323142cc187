//! So much of something, by volume or by weight, and sums of these.

use super::mass::gram;
use super::{Mass, Volume, in_litres, to_litres};
use derive_where::derive_where;
use std::ops::Deref;

/// An amount by loose volume, or by weight for what is dosed by weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Quantity {
    /// Loose volume.
    Volume(Volume),
    /// Weight.
    Mass(Mass),
}

impl Quantity {
    /// Litres or grams.
    pub fn size(self) -> f64 {
        match self {
            Self::Volume(volume) => to_litres(volume),
            Self::Mass(mass) => mass.get::<gram>(),
        }
    }

    /// So many litres or grams, of the kind of this one.
    #[must_use]
    pub fn of_size(self, size: f64) -> Self {
        match self {
            Self::Volume(_) => Self::Volume(in_litres(size)),
            Self::Mass(_) => Self::Mass(Mass::new::<gram>(size)),
        }
    }

    /// So many times as much.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        self.of_size(self.size() * factor)
    }

    /// Whether both are volumes or both weights.
    pub fn is_like(self, other: Self) -> bool {
        matches!((self, other), (Self::Volume(_), Self::Volume(_)) | (Self::Mass(_), Self::Mass(_)))
    }

    /// The litres, of a volume.
    pub fn litres(self) -> Option<f64> {
        matches!(self, Self::Volume(_)).then(|| self.size())
    }

    /// The millilitres, of a volume.
    pub fn millilitres(self) -> Option<f64> {
        self.litres().map(|litres| litres * 1000.0)
    }

    /// The grams, of a weight.
    pub fn grams(self) -> Option<f64> {
        matches!(self, Self::Mass(_)).then(|| self.size())
    }

    /// `L` or `g`.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Volume(_) => "L",
            Self::Mass(_) => "g",
        }
    }
}

/// What can be summed, if both are of one kind.
pub trait Sum: Copy {
    /// The sum; `None` for amounts of different kinds.
    fn plus(self, other: Self) -> Option<Self>;
}

impl Sum for Quantity {
    fn plus(self, other: Self) -> Option<Self> {
        self.is_like(other).then(|| self.of_size(self.size() + other.size()))
    }
}

impl Sum for Volume {
    fn plus(self, other: Self) -> Option<Self> {
        Some(self + other)
    }
}

impl Sum for f64 {
    fn plus(self, other: Self) -> Option<Self> {
        Some(self + other)
    }
}

/// Sums by key, in the order in which the keys first came. What is counted by volume and
/// by weight has a sum of each, one after the other.
///
/// ```
/// use trayful::units::{Quantity, Tally, in_litres};
/// let litres = |litres| Quantity::Volume(in_litres(litres));
/// let tally: Tally<_, _> = [("peat", litres(3.0)), ("sand", litres(1.0)), ("peat", litres(2.0))].into_iter().collect();
/// assert_eq!(tally.as_slice(), [("peat", litres(5.0)), ("sand", litres(1.0))]);
/// ```
#[derive(Clone, Debug, PartialEq)]
#[derive_where(Default)]
pub struct Tally<K, V>(Vec<(K, V)>);

impl<K: PartialEq, V: Sum> Tally<K, V> {
    /// Adds an amount to the sum of its key.
    pub fn add(&mut self, key: K, more: V) {
        let mut same = self.0.iter_mut().filter(|(known, _)| *known == key);
        match same.find_map(|(_, sum)| sum.plus(more).map(|total| (sum, total))) {
            Some((sum, total)) => *sum = total,
            None => {
                let place = self.0.iter().rposition(|(known, _)| *known == key).map_or(self.0.len(), |at| at + 1);
                self.0.insert(place, (key, more));
            }
        }
    }

    /// The first sum of a key.
    pub fn get(&self, key: &K) -> Option<V> {
        self.0.iter().find(|(known, _)| known == key).map(|(_, sum)| *sum)
    }
}

/// Every key with its sum.
impl<K, V> Deref for Tally<K, V> {
    type Target = Vec<(K, V)>;
    fn deref(&self) -> &Self::Target {
        &self.0
    }
}

impl<K: PartialEq, V: Sum> FromIterator<(K, V)> for Tally<K, V> {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(amounts: I) -> Self {
        let mut tally = Self::default();
        tally.extend(amounts);
        tally
    }
}

impl<K: PartialEq, V: Sum> Extend<(K, V)> for Tally<K, V> {
    fn extend<I: IntoIterator<Item = (K, V)>>(&mut self, amounts: I) {
        amounts.into_iter().for_each(|(key, more)| self.add(key, more));
    }
}

impl<K, V> IntoIterator for Tally<K, V> {
    type Item = (K, V);
    type IntoIter = std::vec::IntoIter<(K, V)>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter()
    }
}

impl<'t, K, V> IntoIterator for &'t Tally<K, V> {
    type Item = &'t (K, V);
    type IntoIter = std::slice::Iter<'t, (K, V)>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn volumes_and_weights_are_summed_apart() {
        let volume = Quantity::Volume(in_litres(1.0));
        let mass = Quantity::Mass(Mass::new::<gram>(1.0));
        let all = [("lime", volume), ("gypsum", mass), ("lime", mass), ("lime", mass)];
        let tally: Tally<_, _> = all.into_iter().collect();
        assert_eq!(tally.as_slice(), [("lime", volume), ("lime", mass.times(2.0)), ("gypsum", mass)]);
    }
}
