//! The ramps of a lobe, from how long it holds its valve over two lifts.
//!
//! L = h [4 x (1 − x)]ⁿ, x from 0 to 1 over the seat duration D; with u the distance from the
//! centre over half of D, L = h (1 − u²)ⁿ. The law is at a lift c where u² = 1 − (c/h)^(1/n), so it
//! is over c for D √(1 − (c/h)^(1/n)). Two lifts with their durations give n and D. n = 3 is the
//! single-dwell 3-4-5-6 polynomial. Source of the form: common practice, no source; the fit is
//! worked out here.

/// The least and the most exponent that are taken for a lobe's. Under the least a valve would be
/// knocked off its seat (at 1 its velocity jumps there); over the most its ramps would hold it off
/// its seat for half as long again as any lobe does. Common practice, no source.
pub(crate) const EXPONENTS: (f64, f64) = (1.25, 6.0);

/// A lift, and crank degrees over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Over {
    /// The lift, 0 or more and under full lift.
    pub(crate) lift: f64,
    /// Crank degrees over it.
    pub(crate) duration_deg: f64,
}

/// The law that passes two lifts as was said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Ramps {
    /// n.
    pub(crate) exponent: f64,
    /// D, crank degrees from seat to seat.
    pub(crate) seat_deg: f64,
}

/// Why no law passes two lifts as was said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum NoRamps {
    /// A lift is not under full lift, or under 0.
    NotReached,
    /// Both lifts are the same.
    SameLift,
    /// The valve is no shorter over the larger lift than over the smaller.
    LargerIsNoShorter,
    /// No exponent that is taken gives it: over the second lift it can be for so many crank
    /// degrees, least and most.
    NoExponent(f64, f64),
}

/// How much of the square of the seat duration the law is over a share of full lift.
pub(crate) fn squared_part_over(share: f64, exponent: f64) -> f64 {
    1.0 - share.powf(1.0 / exponent)
}

/// The law with full lift `full_lift` that is over two lifts for as long as is said.
pub(crate) fn fitted(full_lift: f64, one: Over, other: Over) -> Result<Ramps, NoRamps> {
    let shares = [one, other].map(|over| over.lift / full_lift);
    if !shares.iter().all(|share| (0.0..1.0).contains(share)) {
        return Err(NoRamps::NotReached);
    }
    if one.lift == other.lift {
        return Err(NoRamps::SameLift);
    }
    let ratio = other.duration_deg / one.duration_deg;
    if (other.lift > one.lift) != (ratio < 1.0) || ratio == 1.0 {
        return Err(NoRamps::LargerIsNoShorter);
    }
    // The second duration over the first, squared: with a rising exponent it moves away from 1 one
    // way only, so halving the range finds where it is what was said.
    let [first, second] = shares;
    let squared =
        |exponent: f64| squared_part_over(second, exponent) / squared_part_over(first, exponent);
    let wanted = ratio * ratio;
    let (mut from, mut to) = EXPONENTS;
    let ends = [squared(from), squared(to)];
    let (least, most) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
    if !(least..=most).contains(&wanted) {
        let deg = |squared: f64| one.duration_deg * squared.sqrt();
        return Err(NoRamps::NoExponent(deg(least), deg(most)));
    }
    let falling = ends[1] < ends[0];
    for _ in 0..100 {
        let middle = f64::midpoint(from, to);
        if (squared(middle) > wanted) == falling {
            from = middle;
        } else {
            to = middle;
        }
    }
    let exponent = f64::midpoint(from, to);
    Ok(Ramps {
        exponent,
        seat_deg: one.duration_deg / squared_part_over(first, exponent).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use approx::assert_abs_diff_eq;

    use super::*;

    fn over(lift: f64, duration_deg: f64) -> Over {
        Over { lift, duration_deg }
    }

    /// How long a law is over a lift, found by looking for where it comes to it: nothing of the
    /// formula worked back is used.
    fn looked_for(ramps: Ramps, full: f64, lift: f64) -> f64 {
        let at = |x: f64| full * (4.0 * x * (1.0 - x)).powf(ramps.exponent);
        let (mut under, mut past) = (0.0, 0.5);
        for _ in 0..200 {
            let middle = f64::midpoint(under, past);
            if at(middle) < lift {
                under = middle;
            } else {
                past = middle;
            }
        }
        ramps.seat_deg * (1.0 - 2.0 * past)
    }

    #[test]
    fn both_pairs_are_met_by_the_law_that_is_found() {
        for (full, one, other) in [
            (9.5, over(0.15, 284.0), over(1.27, 230.0)),
            (9.5, over(1.27, 230.0), over(0.15, 284.0)),
            (11.4, over(0.1524, 292.0), over(1.27, 236.0)),
            (9.0, over(0.0, 244.0), over(1.27, 202.0)),
            (9.0, over(1.0, 214.0), over(0.0, 264.0)),
            (8.0, over(0.3, 250.0), over(4.0, 130.0)),
        ] {
            let ramps = fitted(full, one, other).expect("a law");
            assert!(
                (EXPONENTS.0..=EXPONENTS.1).contains(&ramps.exponent),
                "{ramps:?}"
            );
            for pair in [one, other] {
                let found = looked_for(ramps, full, pair.lift);
                assert_abs_diff_eq!(found, pair.duration_deg, epsilon = 1e-6);
            }
        }
    }

    #[test]
    fn a_second_pair_of_the_polynomial_gives_the_polynomial() {
        let at = |lift: f64| 264.0 * (1.0 - (lift / 9.5_f64).cbrt()).sqrt();
        let ramps = fitted(9.5, over(0.2, at(0.2)), over(1.27, at(1.27))).expect("a law");
        assert_abs_diff_eq!(ramps.exponent, 3.0, epsilon = 1e-9);
        assert_abs_diff_eq!(ramps.seat_deg, 264.0, epsilon = 1e-7);
    }

    #[test]
    fn pairs_that_no_lobe_has_are_refused_each_by_its_name() {
        let refused = |one, other| fitted(9.0, one, other).expect_err("no law");
        let one = over(0.5, 244.0);
        assert_eq!(refused(one, over(9.0, 100.0)), NoRamps::NotReached);
        assert_eq!(refused(one, over(-0.1, 260.0)), NoRamps::NotReached);
        assert_eq!(refused(one, over(0.5, 240.0)), NoRamps::SameLift);
        assert_eq!(refused(one, over(1.27, 244.0)), NoRamps::LargerIsNoShorter);
        assert_eq!(refused(one, over(1.27, 250.0)), NoRamps::LargerIsNoShorter);
        assert_eq!(refused(one, over(0.1, 240.0)), NoRamps::LargerIsNoShorter);
        // What is said to be possible is, and nothing beyond it.
        let NoRamps::NoExponent(least, most) = refused(one, over(1.27, 200.0)) else {
            panic!("another reason")
        };
        assert!(fitted(9.0, one, over(1.27, least + 0.01)).is_ok());
        assert!(fitted(9.0, one, over(1.27, most - 0.01)).is_ok());
        assert!(fitted(9.0, one, over(1.27, least - 0.01)).is_err());
        assert!(fitted(9.0, one, over(1.27, most + 0.01)).is_err());
    }
}
