//! A valve's lift as it was measured: a smooth curve through the points that were read.
//!
//! Between two points a cubic that rises or falls with them and never past them, so that no lift is
//! made up that nobody read; slopes are alike from both sides at every point. Outside the points the
//! valve is on its seat: lift and slope are 0 at both ends.
//!
//! Source: F. N. Fritsch and R. E. Carlson, *Monotone Piecewise Cubic Interpolation*, SIAM Journal on
//! Numerical Analysis 17 (1980); of the slopes that paper allows, those of F. N. Fritsch and J.
//! Butland, SIAM Journal on Scientific and Statistical Computing 5 (1984): 0 at a top and on a level
//! stretch, elsewhere the harmonic mean of the slopes to both neighbours, each weighted by 2 × the
//! other's spacing + its own. SciPy's `PchipInterpolator` takes the same, and a table that it wrote
//! stands in `tests/independent/`.
//!
//! Degrees are of the cylinder's own phase: 0 at firing TDC, 360 at overlap TDC.

#![expect(
    clippy::indexing_slicing,
    reason = "`windows(2)` gives pairs, and a span is found among the points"
)]

use std::sync::Arc;

use crate::angle::wrap;

/// Points of a lobe at least, its ends on the seat among them: with fewer any lobe could be meant.
/// Common practice, no source.
pub(crate) const LEAST_POINTS: usize = 8;
/// Crank degrees between two points at most. Common practice, no source.
pub(crate) const LONGEST_GAP_DEG: f64 = 20.0;
/// Two points nearer together are one read twice: no wheel is read finer.
pub(crate) const APART_DEG: f64 = 0.01;
/// What sums of degrees are rounded by.
const ROUNDING_DEG: f64 = 1e-6;
/// A dip that is less is a dial's reading, not a second top: twice what a dial read by hand scatters
/// by. Common practice, no source.
pub(crate) const DIP_MM: f64 = 0.1;

/// Lift against phase, through points that were measured.
#[derive(Clone, Debug, PartialEq)]
pub struct MeasuredLift {
    /// The first stands where the valve leaves its seat, the last where it is back on it.
    points: Arc<[Point]>,
    /// Phase of the first, 0 ≤ α < 720.
    leaves_seat_deg: f64,
    seat_deg: f64,
    full_lift_mm: f64,
    /// From the first point, the middle of what stands at full lift.
    top_deg: f64,
    /// From the first point, the middle of equal lifts at half of full lift.
    centre_deg: f64,
}

/// A point of the curve, counted from its first.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Point {
    at_deg: f64,
    lift_mm: f64,
    slope: f64,
}

/// Where a curve is steepest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GreatestRate {
    /// Millimetres a crank degree, positive while the valve opens.
    pub mm_per_deg: f64,
    /// The phase, 0 ≤ α < 720.
    pub at_deg: f64,
}

/// A place between two tops.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dip {
    /// How far under the lower of the two.
    pub deep_mm: f64,
    /// The phase, 0 ≤ α < 720.
    pub at_deg: f64,
}

impl MeasuredLift {
    /// The curve through these phases and lifts. Points on the seat before it is left for the last
    /// time and after it is reached again are passed over; a first or last lift that is not 0 is
    /// taken as 0.
    ///
    /// None where the points do not rise in degrees within one cycle, or hold no lobe.
    ///
    /// ```
    /// use dotwise::laws::MeasuredLift;
    /// let read = [(100.0, 0.0), (120.0, 1.0), (140.0, 4.0), (160.0, 1.0), (180.0, 0.0)];
    /// let lobe = MeasuredLift::through(&read).expect("a lobe");
    /// assert_eq!(lobe.lift_mm(140.0), 4.0);
    /// assert_eq!(lobe.centre_deg(), 140.0);
    /// assert_eq!(lobe.lift_mm(99.0), 0.0);
    /// assert!(MeasuredLift::through(&[(100.0, 0.0), (90.0, 3.0), (110.0, 0.0)]).is_none());
    /// ```
    pub fn through(read: &[(f64, f64)]) -> Option<Self> {
        let finite = |(deg, lift): &(f64, f64)| deg.is_finite() && lift.is_finite();
        let rises = |pair: &[(f64, f64)]| pair[1].0 - pair[0].0 >= APART_DEG - ROUNDING_DEG;
        if !read.iter().all(finite) || !read.windows(2).all(rises) {
            return None;
        }
        let full_lift_mm = read.iter().map(|(_, lift)| *lift).fold(0.0, f64::max);
        let is_top = |(_, lift): &(f64, f64)| *lift == full_lift_mm;
        let (first_top, last_top) = (
            read.iter().position(is_top)?,
            read.iter().rposition(is_top)?,
        );
        let on_seat = |(_, lift): &(f64, f64)| *lift <= 0.0;
        let before = read.get(..first_top)?;
        let after = read.get(last_top + 1..)?;
        let from = before.iter().rposition(on_seat).unwrap_or(0);
        let to = last_top
            + 1
            + after
                .iter()
                .position(on_seat)
                .unwrap_or(after.len().saturating_sub(1));
        if full_lift_mm <= 0.0 || before.is_empty() || after.is_empty() {
            return None;
        }
        let lobe = read.get(from..=to)?;
        let start = lobe.first()?.0;
        let seat_deg = lobe.last()?.0 - start;
        if seat_deg >= 720.0 {
            return None;
        }
        let last = lobe.len() - 1;
        let points: Vec<(f64, f64)> = lobe
            .iter()
            .enumerate()
            .map(|(index, (deg, lift))| {
                let lift = if index == 0 || index == last {
                    0.0
                } else {
                    *lift
                };
                (deg - start, lift)
            })
            .collect();
        let curve = Self {
            points: with_slopes(&points),
            leaves_seat_deg: wrap(start, 720.0),
            seat_deg,
            full_lift_mm,
            top_deg: f64::midpoint(read[first_top].0, read[last_top].0) - start,
            centre_deg: 0.0,
        };
        let (up, down) = curve.passes(full_lift_mm / 2.0)?;
        Some(Self {
            centre_deg: f64::midpoint(up, down),
            ..curve
        })
    }

    /// The middle of equal lifts at half of full lift, 0 ≤ α < 720.
    pub fn centre_deg(&self) -> f64 {
        wrap(self.leaves_seat_deg + self.centre_deg, 720.0)
    }

    /// The most lift that was read.
    pub fn full_lift_mm(&self) -> f64 {
        self.full_lift_mm
    }

    /// Where it was read; where at several phases, the middle of them. 0 ≤ α < 720.
    pub fn full_lift_deg(&self) -> f64 {
        wrap(self.leaves_seat_deg + self.top_deg, 720.0)
    }

    /// Where the lift leaves 0, 0 ≤ α < 720.
    pub fn leaves_seat_deg(&self) -> f64 {
        self.leaves_seat_deg
    }

    /// Crank degrees from there to where it is 0 again.
    pub fn seat_duration_deg(&self) -> f64 {
        self.seat_deg
    }

    /// The points, from where the lift leaves 0 to where it is 0 again, each with its phase (rising,
    /// the first 0 ≤ α < 720).
    pub fn points(&self) -> impl Iterator<Item = (f64, f64)> {
        let start = self.leaves_seat_deg;
        self.points
            .iter()
            .map(move |point| (start + point.at_deg, point.lift_mm))
    }

    /// How far past where the lift leaves 0 a phase is, 0 ≤ t < 720.
    pub(crate) fn past_seat_deg(&self, phase_deg: f64) -> f64 {
        wrap(phase_deg - self.leaves_seat_deg, 720.0)
    }

    /// Lift at a phase, any angle, where the valve is off its seat.
    pub(super) fn off_seat_mm(&self, phase_deg: f64) -> Option<f64> {
        self.span(phase_deg).map(|span| span.lift_mm())
    }

    /// Lift at a phase, any angle.
    pub fn lift_mm(&self, phase_deg: f64) -> f64 {
        self.off_seat_mm(phase_deg).unwrap_or(0.0)
    }

    /// The slope of the lift, millimetres a crank degree, positive while opening.
    pub fn velocity_mm_per_deg(&self, phase_deg: f64) -> f64 {
        self.span(phase_deg).map_or(0.0, |span| span.slope())
    }

    /// How the slope changes, millimetres a crank degree squared. It steps at the points.
    pub fn acceleration_mm_per_deg2(&self, phase_deg: f64) -> f64 {
        self.span(phase_deg).map_or(0.0, |span| span.bend())
    }

    /// Where the lift passes `lift_mm` first going up and last coming down, in degrees past where it
    /// leaves 0; None where it never comes over it.
    pub(crate) fn passes(&self, lift_mm: f64) -> Option<(f64, f64)> {
        if !(0.0..self.full_lift_mm).contains(&lift_mm) {
            return None;
        }
        let pairs = || self.points.windows(2);
        let up = pairs().find(|pair| pair[1].lift_mm > lift_mm)?;
        let down = pairs().rfind(|pair| pair[0].lift_mm > lift_mm)?;
        Some((where_it_passes(up, lift_mm), where_it_passes(down, lift_mm)))
    }

    /// Crank degrees from where it passes a lift going up to where it comes back to it; None where
    /// it never comes over it.
    pub fn duration_over_deg(&self, lift_mm: f64) -> Option<f64> {
        self.passes(lift_mm).map(|(up, down)| down - up)
    }

    /// The most lift from one phase to another, at most a whole cycle after it.
    pub(crate) fn most_lift_mm(&self, from_deg: f64, to_deg: f64) -> f64 {
        let start = self.past_seat_deg(from_deg);
        let end = start + (to_deg - from_deg);
        let within = |point: &&Point| {
            (start..=end).contains(&point.at_deg) || (start..=end).contains(&(point.at_deg + 720.0))
        };
        let ends = self.lift_mm(from_deg).max(self.lift_mm(to_deg));
        let points = self.points.iter().filter(within);
        points.map(|point| point.lift_mm).fold(ends, f64::max)
    }

    /// The deepest place between two tops; None where it goes up once and comes down once.
    pub fn deepest_dip(&self) -> Option<Dip> {
        let lifts = || self.points.iter().map(|point| point.lift_mm);
        let highest = |most: &mut f64, lift: f64| {
            *most = most.max(lift);
            Some(*most)
        };
        let before: Vec<f64> = lifts().scan(0.0, highest).collect();
        let mut after: Vec<f64> = lifts().rev().scan(0.0, highest).collect();
        after.reverse();
        let dips = self.points.iter().zip(before.iter().zip(&after));
        let deepest = dips
            .map(|(point, (before, after))| Dip {
                deep_mm: before.min(*after) - point.lift_mm,
                at_deg: wrap(self.leaves_seat_deg + point.at_deg, 720.0),
            })
            .max_by(|one, other| one.deep_mm.total_cmp(&other.deep_mm))?;
        (deepest.deep_mm > 0.0).then_some(deepest)
    }

    /// Where it opens or closes fastest.
    pub fn greatest_rate(&self) -> GreatestRate {
        let mut greatest = GreatestRate {
            mm_per_deg: 0.0,
            at_deg: self.leaves_seat_deg,
        };
        for pair in self.points.windows(2) {
            let length = pair[1].at_deg - pair[0].at_deg;
            let span = |part: f64| Span { pair, length, part };
            // The slope is a parabola over the span: at its ends, or where it bends no more.
            let (first, last) = (span(0.0).bend(), span(1.0).bend());
            let level = first / (first - last);
            for part in [0.0, level, 1.0] {
                let slope = span(part).slope();
                if (0.0..=1.0).contains(&part) && slope.abs() > greatest.mm_per_deg.abs() {
                    greatest = GreatestRate {
                        mm_per_deg: slope,
                        at_deg: wrap(self.leaves_seat_deg + pair[0].at_deg + part * length, 720.0),
                    };
                }
            }
        }
        greatest
    }

    /// The two points that a phase lies between, where the valve is off its seat.
    fn span(&self, phase_deg: f64) -> Option<Span<'_>> {
        let past = self.past_seat_deg(phase_deg);
        if past <= 0.0 || past >= self.seat_deg {
            return None;
        }
        let next = self.points.partition_point(|point| point.at_deg <= past);
        let pair = self.points.get(next.checked_sub(1)?..=next)?;
        let length = pair[1].at_deg - pair[0].at_deg;
        Some(Span {
            pair,
            length,
            part: (past - pair[0].at_deg) / length,
        })
    }
}

/// Two points, and how far on from the one to the other, 0 to 1.
struct Span<'a> {
    pair: &'a [Point],
    length: f64,
    part: f64,
}

impl Span<'_> {
    /// The cubic that has both points' lifts and slopes.
    fn lift_mm(&self) -> f64 {
        let (one, other, s) = (&self.pair[0], &self.pair[1], self.part);
        let left = 1.0 - s;
        let lift = one.lift_mm * (1.0 + 2.0 * s) * left * left
            + other.lift_mm * (3.0 - 2.0 * s) * s * s
            + self.length * s * left * (one.slope * left - other.slope * s);
        // Never past the points, by no rounding either.
        lift.clamp(
            one.lift_mm.min(other.lift_mm),
            one.lift_mm.max(other.lift_mm),
        )
    }

    fn slope(&self) -> f64 {
        let (one, other, s) = (&self.pair[0], &self.pair[1], self.part);
        let rise = (other.lift_mm - one.lift_mm) / self.length;
        6.0 * s * (1.0 - s) * rise
            + (1.0 - s) * (1.0 - 3.0 * s) * one.slope
            + s * (3.0 * s - 2.0) * other.slope
    }

    fn bend(&self) -> f64 {
        let (one, other, s) = (&self.pair[0], &self.pair[1], self.part);
        let rise = (other.lift_mm - one.lift_mm) / self.length;
        ((6.0 - 12.0 * s) * rise + (6.0 * s - 4.0) * one.slope + (6.0 * s - 2.0) * other.slope)
            / self.length
    }
}

/// Where the curve between two points passes a lift that lies between theirs, in degrees past where
/// it leaves 0.
fn where_it_passes(pair: &[Point], lift_mm: f64) -> f64 {
    /// Halvings after which a span is as narrow as a number is exact.
    const HALVINGS: u32 = 52;
    let length = pair[1].at_deg - pair[0].at_deg;
    let rises = pair[1].lift_mm > pair[0].lift_mm;
    let (mut from, mut to) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let part = f64::midpoint(from, to);
        let over = Span { pair, length, part }.lift_mm() > lift_mm;
        if over == rises {
            to = part;
        } else {
            from = part;
        }
    }
    // Rising, the last that is not over it; falling, the first.
    pair[0].at_deg + length * if rises { from } else { to }
}

/// The points with their slopes; those of the first and the last are 0.
fn with_slopes(points: &[(f64, f64)]) -> Arc<[Point]> {
    let slope = |index: usize| {
        let around = index
            .checked_sub(1)
            .and_then(|before| points.get(before..before + 3));
        around.map_or(0.0, |around| {
            let spacing = |pair: &[(f64, f64)]| pair[1].0 - pair[0].0;
            let rise = |pair: &[(f64, f64)]| (pair[1].1 - pair[0].1) / spacing(pair);
            let (one, other) = (&around[..2], &around[1..]);
            if rise(one) * rise(other) <= 0.0 {
                return 0.0;
            }
            let of_one = 2.0 * spacing(other) + spacing(one);
            let of_other = spacing(other) + 2.0 * spacing(one);
            (of_one + of_other) / (of_one / rise(one) + of_other / rise(other))
        })
    };
    points
        .iter()
        .enumerate()
        .map(|(index, (at_deg, lift_mm))| Point {
            at_deg: *at_deg,
            lift_mm: *lift_mm,
            slope: slope(index),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;
    use proptest::prelude::*;

    /// The law of a lobe from 120 to 360, 9 mm high, read every `step` degrees.
    fn lobe_read_every(step: u32) -> MeasuredLift {
        let read: Vec<(f64, f64)> = (120..=360)
            .step_by(step as usize)
            .map(|deg| {
                let x = f64::from(deg - 120) / 240.0;
                (f64::from(deg), 9.0 * (4.0 * x * (1.0 - x)).powi(3))
            })
            .collect();
        MeasuredLift::through(&read).expect("a lobe")
    }

    #[test]
    fn a_smooth_lobe_read_finely_is_met_closely_and_the_closer_the_finer() {
        let off = |step| {
            let read = lobe_read_every(step);
            let fine = lobe_read_every(1);
            (1200..3600)
                .map(|tenth| f64::from(tenth) / 10.0)
                .map(|deg| (read.lift_mm(deg) - fine.lift_mm(deg)).abs())
                .fold(0.0, f64::max)
        };
        assert!(off(5) < 0.01, "{}", off(5));
        assert!(off(10) < 0.05, "{}", off(10));
        assert!(off(5) < off(10) && off(10) < off(20));
    }

    #[test]
    fn its_figures_are_those_of_the_lobe_it_was_read_from() {
        let lobe = lobe_read_every(5);
        assert_abs_diff_eq!(lobe.centre_deg(), 240.0, epsilon = 1e-9);
        assert_abs_diff_eq!(lobe.full_lift_deg(), 240.0, epsilon = 1e-9);
        assert_abs_diff_eq!(lobe.seat_duration_deg(), 240.0, epsilon = 1e-9);
        // D √(1 − (c/h)^⅓).
        let over = 240.0 * (1.0 - (1.27_f64 / 9.0).cbrt()).sqrt();
        assert_abs_diff_eq!(
            lobe.duration_over_deg(1.27).expect("over it"),
            over,
            epsilon = 0.05
        );
        // Peak velocity 3.43460 h a duration of half a lobe; the values from outside for the law.
        let rate = lobe.greatest_rate();
        assert_abs_diff_eq!(rate.mm_per_deg.abs(), 3.4346 * 9.0 / 240.0, epsilon = 0.002);
        assert_eq!(lobe.duration_over_deg(9.0), None);
        assert_eq!(lobe.duration_over_deg(-0.1), None);
        assert_eq!(lobe.duration_over_deg(0.0), Some(240.0));
    }

    #[test]
    fn what_is_no_lobe_is_none() {
        for read in [
            &[][..],
            &[(10.0, 3.0)],
            &[(10.0, 0.0), (20.0, 0.0), (30.0, 0.0)],
            &[(10.0, 0.0), (10.0, 2.0), (30.0, 0.0)],
            &[(10.0, 5.0), (20.0, 2.0), (30.0, 0.0)],
            &[(10.0, 0.0), (20.0, 2.0), (30.0, 5.0)],
            &[(0.0, 0.0), (300.0, 2.0), (720.0, 0.0)],
            &[(0.0, 0.0), (f64::NAN, 2.0), (30.0, 0.0)],
            &[(0.0, 0.0), (10.0, f64::INFINITY), (30.0, 0.0)],
            &[(0.0, -3.0), (10.0, -1.0), (30.0, -2.0)],
        ] {
            assert_eq!(MeasuredLift::through(read), None, "{read:?}");
        }
    }

    #[test]
    fn a_second_top_leaves_a_dip_and_one_top_leaves_none() {
        let dip = |lifts: &[f64]| {
            let at = (0..).map(|index| f64::from(index) * 10.0);
            let read: Vec<(f64, f64)> = at.zip(lifts.iter().copied()).collect();
            let dip = MeasuredLift::through(&read).expect("a lobe").deepest_dip();
            dip.map(|dip| (dip.deep_mm, dip.at_deg))
        };
        assert_eq!(dip(&[0.0, 2.0, 5.0, 5.0, 3.0, 0.0]), None);
        assert_eq!(dip(&[0.0, 5.0, 3.0, 4.0, 0.0]), Some((1.0, 20.0)));
        assert_eq!(dip(&[0.0, 1.0, 0.5, 6.0, 2.0, 3.0, 0.0]), Some((1.0, 40.0)));
    }

    #[test]
    fn readings_on_the_base_circle_beside_the_lobe_change_nothing() {
        let lobe = [
            (0.0, 0.0),
            (20.0, 2.0),
            (40.0, 5.0),
            (60.0, 2.0),
            (80.0, 0.0),
        ];
        let longer: Vec<(f64, f64)> = [(-40.0, 0.0), (-20.0, 0.0)]
            .into_iter()
            .chain(lobe)
            .chain([(100.0, 0.0), (300.0, 0.0)])
            .collect();
        assert_eq!(MeasuredLift::through(&lobe), MeasuredLift::through(&longer));
    }

    #[test]
    fn the_most_lift_over_a_part_of_the_cycle_is_what_walking_it_finds() {
        let lobe = lobe_read_every(10);
        for (from, to) in [
            (0.0, 100.0),
            (130.0, 150.0),
            (200.0, 300.0),
            (350.0, 850.0),
            (500.0, 1000.0),
            (-600.0, -400.0),
        ] {
            let walked = (0..=10_000)
                .map(|step| lobe.lift_mm(from + (to - from) * f64::from(step) / 10_000.0))
                .fold(0.0, f64::max);
            assert_abs_diff_eq!(lobe.most_lift_mm(from, to), walked, epsilon = 1e-3);
        }
    }

    /// Points of any shape: spacings and lifts as they come.
    fn any_points() -> impl Strategy<Value = Vec<(f64, f64)>> {
        let step = (0.5..20.0_f64, 0.0..10.0_f64);
        (0.0..720.0_f64, prop::collection::vec(step, 3..24)).prop_map(|(start, steps)| {
            let mut at = start;
            let mut points = vec![(at, 0.0)];
            for (spacing, lift) in steps {
                at += spacing;
                points.push((at, lift));
            }
            points.push((at + 5.0, 0.0));
            points
        })
    }

    proptest! {
        #[test]
        fn it_goes_through_every_point_and_past_none(points in any_points()) {
            let lobe = MeasuredLift::through(&points).expect("a lobe");
            let there: Vec<(f64, f64)> = lobe.points().collect();
            for pair in there.windows(2) {
                let ((one, low), (other, high)) = (pair[0], pair[1]);
                let inside = |deg: f64| lobe.past_seat_deg(deg) < lobe.seat_duration_deg();
                prop_assert!(!inside(one) || (lobe.lift_mm(one) - low).abs() < 1e-6);
                let mut last = low;
                for part in 1..=20 {
                    let lift = lobe.lift_mm(one + (other - one) * f64::from(part) / 20.0);
                    let (least, most) = if high > low { (last, high) } else { (high, last) };
                    prop_assert!(lift >= least - 1e-6 && lift <= most + 1e-6, "{pair:?} {lift}");
                    last = lift;
                }
            }
        }

        #[test]
        fn lift_and_slope_are_alike_from_both_sides_of_every_point(points in any_points()) {
            const STEP: f64 = 1e-6;
            let lobe = MeasuredLift::through(&points).expect("a lobe");
            let steepest = lobe.greatest_rate().mm_per_deg.abs();
            for (deg, _) in lobe.points() {
                let (before, after) = (deg - STEP, deg + STEP);
                let jump = (lobe.lift_mm(after) - lobe.lift_mm(before)).abs();
                prop_assert!(jump <= 2.1 * STEP * steepest + 1e-9);
                let kink = (lobe.velocity_mm_per_deg(after) - lobe.velocity_mm_per_deg(before)).abs();
                prop_assert!(kink < 1e-3, "{kink} at {deg}");
            }
        }

        #[test]
        fn it_is_over_a_lift_for_as_long_as_it_says(points in any_points(), share in 0.01..0.99_f64) {
            let lobe = MeasuredLift::through(&points).expect("a lobe");
            let lift = share * lobe.full_lift_mm();
            let (up, down) = lobe.passes(lift).expect("under full lift");
            let start = lobe.leaves_seat_deg();
            prop_assert!((lobe.lift_mm(start + up) - lift).abs() < 1e-6);
            prop_assert!((lobe.lift_mm(start + down) - lift).abs() < 1e-6);
            for part in 1..50 {
                let before = start + up * f64::from(part) / 50.0;
                prop_assert!(lobe.lift_mm(before) <= lift + 1e-9);
            }
        }
    }
}
