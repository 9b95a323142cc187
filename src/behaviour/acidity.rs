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
/// What may be above this moves the pH itself (a judgement).
pub const MOST_PH: f64 = 8.0;

/// The pH of most mixes for germination (University of Massachusetts, read).
pub const WANTED_PH: [f64; 2] = [5.7, 6.2];

/// The pH of a mix with so much lime in a finished litre, least and most; `None` for one that the trial tells nothing of.
///
/// ```
/// use trayful::behaviour::ph;
/// use trayful::catalogue::Catalogue;
/// let ingredients = Catalogue::built_in().ingredients;
/// let [peat, coir] = ["peat", "coir"].map(|name| ingredients.find(name).unwrap());
/// let [least, most] = ph(&[(&peat, 1.0)], 2.4).unwrap();
/// assert!(least < 5.6 && 5.6 < most);
/// assert_eq!((ph(&[(&coir, 1.0)], 2.4), ph(&[(&peat, 1.0)], 4.0)), (None, None));
/// ```
pub fn ph(parts: &Parts<'_>, lime_g_per_l: f64) -> Option<[f64; 2]> {
    let compost = compost_beside_peat(parts)?;
    if !(0.0..=MOST_LIME_G_PER_L).contains(&lime_g_per_l) {
        return None;
    }
    let ph = 7.463 - 2.956 * libm::exp(-0.2078 * lime_g_per_l - 3.42 * compost);
    Some([ph - OFF, ph + OFF])
}

/// Lime for a wanted pH, in grams for a finished litre: what the fit says, and within the trial's lime the least and the
/// most for mixes that are off it, none where the mix is past it without; `None` where the trial did not reach that pH.
///
/// ```
/// use trayful::behaviour::lime_for;
/// use trayful::catalogue::Catalogue;
/// let peat = Catalogue::built_in().ingredients.find("peat").unwrap();
/// let [least, about, most] = lime_for(&[(&peat, 1.0)], 5.6).unwrap();
/// assert!(least < about && about < most && (about - 2.4).abs() < 0.2);
/// assert_eq!(lime_for(&[(&peat, 1.0)], 6.8), None);
/// ```
pub fn lime_for(parts: &Parts<'_>, ph: f64) -> Option<Spread> {
    let compost = compost_beside_peat(parts)?;
    let lime = |ph: f64| (-libm::log((7.463 - ph) / 2.956) - 3.42 * compost) / 0.2078;
    let [least, about, most] = [-OFF, 0.0, OFF].map(|off| lime(ph + off));
    let within = |lime: f64| if lime.is_nan() { MOST_LIME_G_PER_L } else { lime.clamp(0.0, MOST_LIME_G_PER_L) };
    (about <= MOST_LIME_G_PER_L).then(|| [least, about, most].map(within))
}

/// The share of castings and compost in a mix that is otherwise of raw peat: at least half of the rest (a judgement), and
/// no coir, which needs no lime, nor what its maker has limed, what may be alkaline or what is not known to be otherwise.
/// `None` for others, and where there is more than in the trial.
fn compost_beside_peat(parts: &Parts<'_>) -> Option<f64> {
    let compost = share_of(parts, |ingredient| ingredient.rich);
    let others = share_of(parts, |ingredient| {
        let is_limed = ingredient.is(Role::Peat) && !ingredient.is_raw_peat();
        let is_alkaline = !ingredient.rich && ingredient.physical.ph.is_none_or(|(_, most)| most > MOST_PH);
        is_limed
            || is_alkaline
            || ingredient.is(Role::Coir)
            || ingredient.is(Role::SoakedCoir)
            || ingredient.feeds == Feeds::Starter
    });
    let is_of_peat = others <= 0.0 && 2.0 * share_of(parts, Ingredient::is_raw_peat) >= 1.0 - compost;
    Some(compost).filter(|compost| is_of_peat && *compost <= MOST_COMPOST)
}
