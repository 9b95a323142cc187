//! Where a function of one variable changes sign.

/// Bisections that take any bracket of finite numbers down to neighbours.
const ENOUGH: usize = 1100;

/// A place and the value there.
type Point = (f64, f64);

/// Finds a sign change of `f` between two points to within `relative` of its place: the end of the last bracket where
/// `f` is not positive. `None` where the ends agree in sign.
///
/// Chandrupatla's method (1997, Adv. Eng. Softw. 28:145; from memory): inverse quadratic interpolation where the
/// bracket looks smooth, bisection elsewhere, so a jump is found as surely as a zero.
pub(crate) fn crossing(mut f: impl FnMut(f64) -> f64, from: Point, to: Point, relative: f64) -> Option<f64> {
    let ((mut a, mut at_a), (mut b, mut at_b)) = (from, to);
    if at_b == 0.0 {
        return Some(b);
    }
    if at_a != 0.0 && (at_a > 0.0) == (at_b > 0.0) || at_a.is_nan() || at_b.is_nan() {
        return None;
    }
    let mut step: f64 = 0.5;
    for _ in 0..ENOUGH {
        let narrowest = relative * a.abs() / (b - a).abs();
        if at_a == 0.0 || narrowest.is_nan() || narrowest > 0.5 {
            break;
        }
        let next = a + step.clamp(narrowest, 1.0 - narrowest) * (b - a);
        if next == a || next == b {
            break;
        }
        let at_next = f(next);
        // `c` is the end that was dropped; the bracket stays between `a` (the newest) and `b`.
        let (c, at_c) = if (at_next > 0.0) == (at_a > 0.0) {
            (a, at_a)
        } else {
            let dropped = (b, at_b);
            (b, at_b) = (a, at_a);
            dropped
        };
        (a, at_a) = (next, at_next);
        step = interpolate((a, at_a), (b, at_b), (c, at_c));
    }
    Some(if at_a <= 0.0 { a } else { b })
}

/// The share of the way from `a` to `b` at which to look next.
fn interpolate((a, at_a): Point, (b, at_b): Point, (c, at_c): Point) -> f64 {
    let xi = (a - b) / (c - b);
    let phi = (at_a - at_b) / (at_c - at_b);
    if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
        at_a / (at_b - at_a) * at_c / (at_b - at_c) + (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
    } else {
        0.5
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn finds_a_zero_from_below() {
        let found = crossing(|x| x * x - 2.0, (0.0, -2.0), (2.0, 2.0), 1e-14).unwrap();
        assert!((found - 2f64.sqrt()).abs() < 1e-13 && found * found - 2.0 <= 0.0);
    }

    #[test]
    fn finds_the_low_side_of_a_jump() {
        let found = crossing(|x| if x < 0.3 { 5.0 } else { -1.0 }, (0.0, 5.0), (1.0, -1.0), 1e-12).unwrap();
        assert!((0.3..0.3 + 1e-11).contains(&found));
    }

    #[test]
    fn needs_a_change_of_sign() {
        assert!(crossing(|x| x + 1.0, (0.0, 1.0), (1.0, 2.0), 1e-12).is_none());
        assert!(crossing(|x| x, (0.0, f64::NAN), (1.0, 1.0), 1e-12).is_none());
    }
}
