//! Customary units: NIST Handbook 44 Appendix C (read in a reprint), NIST Handbook 133
//! Appendix E (dry quart, read), SP 811 Appendix B (from memory).

use super::bench::{near, printed, volume};
use trayful::units::mass::{gram, kilogram};
use trayful::units::volume::{
    cubic_foot, cubic_inch, cubic_yard, litre, us_bushel, us_dry_gallon, us_dry_quart, us_liquid_quart,
};
use trayful::units::{Assumption, mass, to_litres};

/// Litres exact by definition: each inch is 2.54 cm, so each figure is a number of
/// cubic inches times 0.016387064 (or the imperial gallon of 4.54609 L).
#[test]
fn the_litres_of_every_customary_unit() {
    for (written, litres) in [
        ("1 cu in", 0.016_387_064),
        ("1 cu ft", 28.316_846_592),
        ("1 cu yd", 764.554_857_984),
        ("1 US gal", 3.785_411_784),
        ("1 US qt", 0.946_352_946),
        ("1 US pt", 0.473_176_473),
        ("1 cup", 0.236_588_236_5),
        ("1 fl oz", 0.029_573_529_562_5),
        ("1 tbsp", 0.014_786_764_781_25),
        ("1 tsp", 0.004_928_921_593_75),
        ("1 bu", 35.239_070_166_88),
        ("1 peck", 8.809_767_541_72),
        ("1 dry gal", 4.404_883_770_86),
        ("1 dry qt", 1.101_220_942_715),
        ("1 dry pt", 0.550_610_471_357_5),
        ("1 imp gal", 4.546_09),
        ("1 imp qt", 1.136_522_5),
        ("1 imp pt", 0.568_261_25),
        ("1 imp bu", 36.368_72),
    ] {
        near(to_litres(volume(written)), litres, 1e-14);
    }
    // Rounded as the reprint shows them.
    assert_eq!(printed(volume("1 tbsp").get::<litre>() * 1000.0, 5), "14.78676");
    assert_eq!(printed(volume("1 tsp").get::<litre>() * 1000.0, 6), "4.928922");
    assert_eq!(printed(volume("1 cu yd").get::<us_bushel>(), 4), "21.6962");
    near(mass("1 lb").unwrap().get::<gram>(), 453.592_37, 1e-15);
    near(mass("1 lb").unwrap().get::<kilogram>(), 0.453_592_37, 1e-15);
}

/// The same bushel, yard and foot in cubic inches.
#[test]
fn cubic_inches_of_the_handbook() {
    near(volume("1 US gal").get::<cubic_inch>(), 231.0, 1e-14);
    near(volume("1 bu").get::<cubic_inch>(), 2150.42, 1e-14);
    near(volume("1 dry qt").get::<cubic_inch>(), 67.200_625, 1e-14);
    near(volume("1 dry gal").get::<cubic_inch>(), 268.802_5, 1e-14);
    near(volume("1 cu yd").get::<cubic_inch>(), 46_656.0, 1e-14);
}

/// University of Regina, Math Central (2006), read: "55 quarts" in cubic yards, once
/// for each of the three quarts.
#[test]
fn fifty_five_quarts_are_three_volumes() {
    for (written, yards) in [("55 imp qt", 0.081_758_342), ("55 dry qt", 0.079_218_844), ("55 US qt", 0.068_078_061)] {
        let got = volume(written).get::<cubic_yard>();
        // The answer is printed to nine places.
        assert!((got - yards).abs() < 1e-8, "{written}: {got}");
        assert_eq!(printed(got, 9), printed(yards, 9), "{written}");
    }
}

/// A bag of 4 cu ft is sold as 103 or as 120 quarts (read): dry or liquid ones, 16.4 %
/// apart. A bare `qt` is never taken in silence.
#[test]
fn a_bag_label_in_quarts_means_either_quart() {
    let bag = volume("4 cu ft");
    assert_eq!(printed(bag.get::<us_dry_quart>(), 0), "103");
    assert_eq!(printed(bag.get::<us_liquid_quart>(), 0), "120");
    assert_eq!(printed(volume("1 cu ft").get::<us_dry_quart>(), 3), "25.714");
    assert_eq!(printed(volume("1 cu ft").get::<us_liquid_quart>(), 3), "29.922");
    let ratio = volume("1 dry qt").get::<us_liquid_quart>();
    assert_eq!(printed((ratio - 1.0) * 100.0, 1), "16.4");
    let bare = |text| trayful::units::volume(text).unwrap().assumption;
    assert_eq!(bare("103 qt"), Some(Assumption::LiquidQuart));
    assert_eq!(bare("3 gal"), Some(Assumption::LiquidGallon));
    assert_eq!(bare("2 bu"), Some(Assumption::UsBushel));
    // An imperial pint has 20 fl oz, a dry one 33.6 cubic inches, a liquid one 28.875.
    assert_eq!(["2 pints", "1 pt"].map(bare), [Some(Assumption::LiquidPint); 2]);
    assert_eq!(["2 US pints", "2 dry pt", "2 imp pt"].map(bare), [None; 3]);
    assert_eq!(bare("103 dry qt"), None);
    assert_eq!(bare("3 US gal"), None);
}

/// Two printed recipes (read) only work out with dry gallons: twelve two-gallon buckets
/// "make 3.7 cubic feet", and half a bushel is "4 gallons".
#[test]
fn gallons_of_old_recipes_are_dry() {
    assert_eq!(printed(volume("24 dry gal").get::<cubic_foot>(), 3), "3.733");
    assert_ne!(printed(volume("24 US gal").get::<cubic_foot>(), 1), "3.7");
    near(volume("1/2 bu").get::<us_dry_gallon>(), 4.0, 1e-14);
    assert!(volume("1/2 bu") > volume("4.6 US gal"));
}
