//! pH of a mix of peat by its lime and its castings or compost.
//!
//! A fit to eight means of a trial of limed peat mixes in HortTechnology (read: 0, 1.2, 2.4 and 3.6 g/L, without compost
//! 4.5, 5.2, 5.6, 6.1, with 40 % 6.7, 6.9, 7.0, 7.1): `pH = 7.463 - 2.956 exp(-0.2078 L - 0.0342 C)`, off by up to 0.07
//! (computed). Peats differ so much that no rate hits a pH (HortScience 42:349, read).

use super::blend::{Parts, share_of};
use crate::catalogue::{Feeds, Ingredient, Role, Spread};

/// How far a mix may be off the fit.
const OFF: f64 = 0.5;
/// What the trial reached: grams of lime in a litre, and compost as a share of the loose volume.
const MOST_LIME_G_PER_L: f64 = 3.6;
const MOST_COMPOST: f64 = 0.4;
/// A dose of which the pH is below this makes the mix more acid (a judgement).
const ACID_PH: f64 = 4.5;
/// So much of a dose to a litre moves the pH, by about a tenth: 0.5 g of iron sulfate (heptahydrate) do away with 0.18 of lime.
const MOVES_G_PER_L: f64 = 0.5;
/// Above this share of the loose volume what is acid makes a mix acid where nothing else in it counts (a judgement).
pub(super) const MUCH_ACID: f64 = 0.2;
/// From this share of the loose volume on raw peat makes a mix too acid without lime, whatever else is in it (a judgement).
pub const MOSTLY_PEAT: f64 = 0.5;
/// What may be above this moves the pH itself (a judgement).
pub const MOST_PH: f64 = 8.0;

/// The pH of most mixes for germination (University of Massachusetts, read).
pub const WANTED_PH: [f64; 2] = [5.7, 6.2];

/// The pH of a mix with so much lime in a finished litre, least and most; `None` is lime by the spoon.
///
/// # Errors
/// Why the trial tells nothing of it.
///
/// ```
/// use trayful::behaviour::{NoPh, ph};
/// use trayful::catalogue::Catalogue;
/// let ingredients = Catalogue::built_in().ingredients;
/// let [peat, coir] = ["peat", "coir"].map(|name| ingredients.find(name).unwrap());
/// let [least, most] = ph(&[(&peat, 1.0)], Some(2.4)).unwrap();
/// assert!(least < 5.6 && 5.6 < most);
/// assert_eq!(ph(&[(&coir, 1.0)], Some(2.4)), Err(NoPh::Coir));
/// assert_eq!(ph(&[(&peat, 1.0)], Some(4.0)), Err(NoPh::MuchLime));
/// ```
pub fn ph(parts: &Parts<'_>, lime_g_per_l: Option<f64>) -> Result<[f64; 2], NoPh> {
    let compost = compost_beside_peat(parts)?;
    let lime = lime_g_per_l.ok_or(NoPh::BySpoon)?;
    if !(0.0..=MOST_LIME_G_PER_L).contains(&lime) {
        return Err(NoPh::MuchLime);
    }
    let ph = 7.463 - 2.956 * libm::exp(-0.2078 * lime - 3.42 * compost);
    Ok([ph - OFF, ph + OFF])
}

/// Why no pH is known beside doses other than lime, each with grams in a litre, where those are known.
pub(super) fn moved_by(doses: &[(&Ingredient, Option<f64>)]) -> Option<NoPh> {
    let is_much = |is: fn((f64, f64)) -> bool| {
        let moving = doses.iter().filter(|(of, _)| !of.is(Role::Lime) && of.physical.ph.is_some_and(is));
        moving.map(|(_, grams)| *grams).sum::<Option<f64>>().is_none_or(|grams| grams >= MOVES_G_PER_L)
    };
    let acid = is_much(|(_, most)| most < ACID_PH).then_some(NoPh::Acidified);
    if is_much(|(_, most)| most > MOST_PH) { Some(NoPh::Alkaline) } else { acid }
}

/// Lime for a wanted pH, in grams for a finished litre: what the fit says, and within the trial's lime the least and the
/// most for mixes that are off it, none where the mix is past it without.
///
/// # Errors
/// Why the trial tells nothing of such a mix, or did not reach that pH.
///
/// ```
/// use trayful::behaviour::{NoPh, lime_for};
/// use trayful::catalogue::Catalogue;
/// let peat = Catalogue::built_in().ingredients.find("peat").unwrap();
/// let [least, about, most] = lime_for(&[(&peat, 1.0)], 5.6).unwrap();
/// assert!(least < about && about < most && (about - 2.4).abs() < 0.2);
/// assert_eq!(lime_for(&[(&peat, 1.0)], 6.8), Err(NoPh::OutOfReach));
/// ```
pub fn lime_for(parts: &Parts<'_>, ph: f64) -> Result<Spread, NoPh> {
    let compost = compost_beside_peat(parts)?;
    let lime = |ph: f64| (-libm::log((7.463 - ph) / 2.956) - 3.42 * compost) / 0.2078;
    let [least, about, most] = [-OFF, 0.0, OFF].map(|off| lime(ph + off));
    let within = |lime: f64| if lime.is_nan() { MOST_LIME_G_PER_L } else { lime.clamp(0.0, MOST_LIME_G_PER_L) };
    if about <= MOST_LIME_G_PER_L { Ok([least, about, most].map(within)) } else { Err(NoPh::OutOfReach) }
}

/// Why the trial tells no pH of a mix, or no lime for one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoPh {
    /// Its peat is limed by the maker, or its bagged mix is.
    #[error("what its maker has limed is in it")]
    Limed,
    /// Coir needs no lime.
    #[error("a trial is known of raw peat alone, not of coir")]
    Coir,
    /// Something in it moves the pH itself, or may.
    #[error("something in it may be alkaline itself")]
    Alkaline,
    /// Something in it keeps a pH of its own.
    #[error("a part keeps a pH of its own, as soil does")]
    Steady,
    /// Raw peat is less than half of what is no compost.
    #[error("the trial was of raw peat, and that is less than half of what is not castings or compost")]
    LittlePeat,
    /// More castings and compost than the trial had.
    #[error("the trial had at most 40 % of compost")]
    MuchCompost,
    /// More lime than the trial had.
    #[error("the trial had at most {MOST_LIME_G_PER_L} g of lime in a litre")]
    MuchLime,
    /// Lime by the spoon has no known weight.
    #[error("its lime is by measure, and not by weight")]
    BySpoon,
    /// A dose makes it more acid.
    #[error("something is dosed on it that makes it more acid")]
    Acidified,
    /// The most lime of the trial does not bring that pH.
    #[error("the trial reached pH 4.5 to 6.1, with compost 6.7 to 7.1")]
    OutOfReach,
}

/// The share of castings and compost in a mix that is otherwise of raw peat: at least half of the rest (a judgement), and
/// no coir, which needs no lime, nor what its maker has limed, what keeps a pH of its own, what may be alkaline or what is not
/// known to be otherwise.
///
/// # Errors
/// Why the trial tells nothing of it.
fn compost_beside_peat(parts: &Parts<'_>) -> Result<f64, NoPh> {
    let compost = share_of(parts, |ingredient| ingredient.rich);
    let is_in = |is: fn(&Ingredient) -> bool| share_of(parts, is) > 0.0;
    let is_alkaline = |of: &Ingredient| !of.rich && of.physical.ph.is_none_or(|(_, most)| most > MOST_PH);
    match () {
        () if is_in(Ingredient::is_any_coir) => Err(NoPh::Coir),
        () if is_in(|of| of.is_limed_peat() || of.feeds == Feeds::Starter) => Err(NoPh::Limed),
        () if is_in(is_alkaline) => Err(NoPh::Alkaline),
        () if is_in(|of| of.keeps_ph) => Err(NoPh::Steady),
        () if 2.0 * share_of(parts, Ingredient::is_raw_peat) < 1.0 - compost => Err(NoPh::LittlePeat),
        () if compost > MOST_COMPOST => Err(NoPh::MuchCompost),
        () => Ok(compost),
    }
}
