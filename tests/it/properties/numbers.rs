//! Laws of the exact fractions, of rounding to whole things, and of quantities as written.

use super::cases;
use proptest::prelude::*;
use trayful::exact::Fraction;
use trayful::units::{cover, fits, in_litres, number, share, to_litres, volume};

fn fraction() -> impl Strategy<Value = Fraction> {
    (-10_000_i64..10_000, 1_i64..2_000).prop_map(|(top, bottom)| Fraction::new(top, bottom).unwrap())
}

proptest! {
    #![proptest_config(cases())]

    #[test]
    fn fractions_form_a_field(a in fraction(), b in fraction(), c in fraction()) {
        prop_assert_eq!(a.plus(b), b.plus(a));
        prop_assert_eq!(a.times(b), b.times(a));
        prop_assert_eq!(a.plus(b).and_then(|sum| sum.plus(c)), b.plus(c).and_then(|sum| a.plus(sum)));
        prop_assert_eq!(a.times(b).and_then(|it| it.times(c)), b.times(c).and_then(|it| a.times(it)));
        let left = b.plus(c).and_then(|sum| a.times(sum));
        let right = a.times(b).zip(a.times(c)).and_then(|(one, other)| one.plus(other));
        prop_assert_eq!(left, right);
        prop_assert_eq!(a.plus(Fraction::ZERO), Some(a));
        prop_assert_eq!(a.times(Fraction::ONE), Some(a));
        prop_assert_eq!(a.minus(a), Some(Fraction::ZERO));
        prop_assert_eq!(a.plus(b).and_then(|sum| sum.minus(b)), Some(a));
        if b.is_zero() {
            prop_assert_eq!(a.over(b), None);
        } else {
            prop_assert_eq!(a.over(b).and_then(|it| it.times(b)), Some(a));
        }
    }

    #[test]
    fn fractions_order_and_read_back(a in fraction(), b in fraction()) {
        prop_assert_eq!(a < b, a.minus(b).is_some_and(|it| Fraction::ZERO.minus(it).unwrap().is_positive()));
        prop_assert_eq!(a == b, a.cmp(&b).is_eq());
        prop_assert!((a.to_f64() < b.to_f64()) == (a < b));
        // What is shown is the number itself.
        if a >= Fraction::ZERO {
            prop_assert_eq!(number(&a.to_string()), Ok(a));
            let ceil = Fraction::whole(a.ceil().unwrap());
            prop_assert!(ceil >= a && ceil.minus(Fraction::ONE).unwrap() < a);
        }
    }

    /// Nothing is lost: what is covered is enough, one thing less is not, and what is
    /// over makes up the difference.
    #[test]
    fn covering_is_enough_and_not_one_too_many(need_ml in 0_u64..5_000_000, each_ml in 1_u64..50_000) {
        let (need, each) = (in_litres(need_ml as f64 / 1000.0), in_litres(each_ml as f64 / 1000.0));
        let covered = cover(need, each).unwrap();
        prop_assert_eq!(covered.count, need_ml.div_ceil(each_ml));
        prop_assert!((to_litres(covered.over) * 1000.0 - (covered.count * each_ml - need_ml) as f64).abs() < 1e-6);
        prop_assert_eq!(fits(need, each).unwrap(), need_ml / each_ml);
        // Filling what was covered gives back the count.
        prop_assert_eq!(fits(each * covered.count as f64, each), Some(covered.count));
    }

    /// Customary units too, whose litres are no short decimals.
    #[test]
    fn whole_multiples_stay_whole(
        count in 1_u64..5_000,
        unit in prop::sample::select(vec!["qt", "dry qt", "gal", "bu", "cu ft", "cu in", "tbsp", "imp gal", "L", "mL"]),
        size in prop::sample::select(vec!["1", "2.5", "3.8", "1/3", "1 1/2", "0.07"]),
    ) {
        let each = volume(&format!("{size} {unit}")).unwrap().value;
        let need = each * count as f64;
        prop_assert_eq!(cover(need, each).unwrap().count, count);
        prop_assert_eq!(fits(need, each), Some(count));
    }

    /// A decimal and its unit read back as they were written, with and without a space.
    #[test]
    fn quantities_read_as_written(litres in 1_u32..100_000, decimals in 0_u32..4, space in prop::bool::ANY) {
        let value = f64::from(litres) / 10_f64.powi(decimals as i32);
        let written = format!("{value:.*}{}L", decimals as usize, if space { " " } else { "" });
        prop_assert!((to_litres(volume(&written).unwrap().value) / value - 1.0).abs() < 1e-14);
        let comma = format!("{litres},5 L");
        prop_assert!(volume(&comma).unwrap_err().help().unwrap().contains("use a point"));
        // A bare number is never a share.
        let bare = value.to_string();
        prop_assert!(share(&bare).is_err());
    }

    /// Any text at all is a quantity or a fault with words.
    #[test]
    fn no_text_panics_as_a_quantity(text in "\\PC{0,12}|[-+0-9./, eE%xµLlgqt]{0,14}") {
        use trayful::units;
        for fault in [
            units::number(&text).err(), units::count(&text).err(), units::share(&text).err(),
            units::volume(&text).err(), units::mass(&text).err(), units::length(&text).err(),
            units::rate(&text).err(), units::density(&text).err(), units::per_gram(&text).err(),
            units::footprint(&text).err(), units::span_of_whole_numbers(&text).err(),
        ].into_iter().flatten() {
            prop_assert!(!fault.to_string().is_empty());
            prop_assert!(fault.help().is_none_or(|help| !help.is_empty()));
        }
        if let Ok(read) = units::volume(&text) {
            prop_assert!(to_litres(read.value) > 0.0 && to_litres(read.value).is_finite());
        }
    }
}
