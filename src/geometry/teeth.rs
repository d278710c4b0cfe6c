//! Teeth: the outlines of gears, sprockets and toothed pulleys, how two wheels stand in mesh, and
//! the loop round them.
//!
//! Millimetres about the wheel's own centre, x right and y up, seen from the front. A wheel that is
//! not turned has tooth 0 centred straight up; teeth count clockwise, and so do the corners of an
//! outline. A wheel's *turn* is the clock angle of its tooth 0, any number of degrees, positive
//! clockwise.
//!
//! A gear's flank is the true involute of a 20° rack: half a tooth spans, at radius R with cos α_R
//! = r_base / R, the angle π / 2z + inv 20° − inv α_R, where inv α = tan α − α. Under it runs the
//! path that the rack's corner cuts as it rolls past, so a wheel of few teeth is undercut as a hob
//! would undercut it, and nothing that such a rack can mesh with ever fouls it. Source: involute
//! function and rack proportions (20°, addendum 1 module, dedendum 1.25), *Machinery's Handbook*,
//! gearing (from memory), ISO 53 (from memory); the corner's path from rolling the rack's pitch
//! line on the pitch circle.

use std::f64::consts::{PI, TAU};

use glam::DVec2;

use crate::description::DriveKind;
use crate::laws::chain_run;

/// The pressure angle of every gear drawn here.
pub const PRESSURE_ANGLE_DEG: f64 = 20.0;
/// Height of a tooth over the pitch circle, in modules.
const ADDENDUM: f64 = 1.0;
/// Depth of the gap under the pitch circle, in modules.
const DEDENDUM: f64 = 1.25;

/// inv α = tan α − α: the angle at which an involute has left its base circle, in radians, for α in
/// radians.
pub fn inv(alpha: f64) -> f64 {
    alpha.tan() - alpha
}

/// The point `radius` from the centre at a clock angle in radians.
fn on_clock(radius: f64, clock: f64) -> DVec2 {
    DVec2::new(clock.sin(), clock.cos()) * radius
}

/// `points` turned clockwise about the centre.
pub fn turned(points: &[DVec2], degrees: f64) -> Vec<DVec2> {
    let turn = DVec2::from_angle(-degrees.to_radians());
    points.iter().map(|point| turn.rotate(*point)).collect()
}

/// The clock angle of the tooth nearest to `clock_deg` on a wheel of `teeth` at `turn_deg`: a dot
/// stands on a tooth.
pub fn nearest_tooth_deg(teeth: u32, turn_deg: f64, clock_deg: f64) -> f64 {
    let pitch = 360.0 / f64::from(teeth.max(1));
    turn_deg + pitch * ((clock_deg - turn_deg) / pitch).round()
}

/// The turn at which a driven gear meshes with its driver: a gap of it faces a tooth of the driver.
///
/// `towards_deg` is the clock direction from the driver's centre to the driven's. As the driver
/// turns on, the answer follows without a jump, the other way and by the ratio of the teeth. Any
/// whole number of the driven's teeth may be added to it.
///
/// ```
/// use dotwise::geometry::teeth::meshed_turn_deg;
/// // 25 on 50, the driven straight above: as the driver turns on one turn, the driven goes back half a turn.
/// let (at, after) = (meshed_turn_deg(25, 50, 0.0, 0.0), meshed_turn_deg(25, 50, 0.0, 360.0));
/// assert_eq!(after - at, -180.0);
/// ```
pub fn meshed_turn_deg(
    driver_teeth: u32,
    driven_teeth: u32,
    towards_deg: f64,
    driver_turn_deg: f64,
) -> f64 {
    let (driver, driven) = (f64::from(driver_teeth), f64::from(driven_teeth.max(1)));
    towards_deg + 180.0 + 180.0 / driven - (driver_turn_deg - towards_deg) * driver / driven
}

/// A spur gear of 20° involute teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gear {
    /// How many teeth; six at least.
    pub teeth: u32,
    /// Pitch diameter over teeth.
    pub module_mm: f64,
    /// The play at the pitch circle of a pair cut alike: half of it is taken off this wheel's
    /// teeth, a quarter off each flank.
    pub backlash_mm: f64,
}

impl Gear {
    /// The circle that rolls on the other wheel's.
    pub fn pitch_radius_mm(&self) -> f64 {
        self.module_mm * f64::from(self.teeth) / 2.0
    }

    /// The circle from which the flanks unwind.
    pub fn base_radius_mm(&self) -> f64 {
        self.pitch_radius_mm() * PRESSURE_ANGLE_DEG.to_radians().cos()
    }

    /// The circle through the tips.
    pub fn outside_radius_mm(&self) -> f64 {
        self.pitch_radius_mm() + ADDENDUM * self.module_mm
    }

    /// The circle through the bottoms of the gaps.
    pub fn root_radius_mm(&self) -> f64 {
        self.pitch_radius_mm() - DEDENDUM * self.module_mm
    }

    /// How far apart this gear's centre and another's stand.
    pub fn centre_distance_mm(&self, other: &Self) -> f64 {
        self.pitch_radius_mm() + other.pitch_radius_mm()
    }

    /// The outline: each flank in `points_per_flank` points of involute (two at least) and half as
    /// many of the cut under it.
    ///
    /// Straight lines between the points stay inside the true flank, so two outlines in mesh do not
    /// overlap.
    pub fn outline(&self, points_per_flank: usize) -> Vec<DVec2> {
        let half_tooth = self.half_tooth(points_per_flank.max(2));
        let teeth = self.teeth.max(1);
        let mut outline = Vec::with_capacity(half_tooth.len() * 2 * teeth as usize);
        for tooth in 0..teeth {
            let middle = TAU * f64::from(tooth) / f64::from(teeth);
            outline.extend(
                half_tooth
                    .iter()
                    .map(|&(radius, half)| on_clock(radius, middle - half)),
            );
            outline.extend(
                half_tooth
                    .iter()
                    .rev()
                    .map(|&(radius, half)| on_clock(radius, middle + half)),
            );
        }
        outline
    }

    /// From root to tip: radius, and the angle from the tooth's middle line to its flank.
    fn half_tooth(&self, points: usize) -> Vec<(f64, f64)> {
        let (root, tip) = (self.root_radius_mm(), self.tip_radius_mm());
        let start = self.flank_start_mm(tip);
        let below = (points / 2).max(2);
        let fillet = (0..below).map(|index| {
            let radius = root + (start - root) * index as f64 / below as f64;
            (radius, self.half_under_cut(radius))
        });
        // Even steps along the string that unwinds from the base circle crowd the points where the
        // flank bends most.
        let string = |radius: f64| {
            (radius * radius - self.base_radius_mm().powi(2))
                .max(0.0)
                .sqrt()
        };
        let (from, to) = (string(start), string(tip));
        let involute = (0..points).map(|index| {
            let along = from + (to - from) * index as f64 / (points - 1) as f64;
            let radius = self.base_radius_mm().hypot(along);
            (radius, self.half_on_involute(radius).max(0.0))
        });
        fillet.chain(involute).collect()
    }

    /// The radius at which the cut of the rack's corner ends and the involute starts.
    fn flank_start_mm(&self, tip: f64) -> f64 {
        let (sin, cos) = PRESSURE_ANGLE_DEG.to_radians().sin_cos();
        let depth = DEDENDUM * self.module_mm;
        if depth <= self.pitch_radius_mm() * sin * sin {
            // The corner runs into the involute where the line of contact comes to the corner's
            // depth.
            return self.corner_path(depth * cos / sin).0;
        }
        // Undercut: the corner cuts the involute off. Over the crossing the involute leaves the
        // narrower tooth.
        let (mut low, mut high) = (self.base_radius_mm(), tip);
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if self.half_under_cut(middle) < self.half_on_involute(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        high
    }

    /// What each flank gives to the backlash, as an angle. No tooth gives more than half of itself.
    fn thinned(&self) -> f64 {
        (self.backlash_mm / 4.0 / self.pitch_radius_mm())
            .clamp(0.0, PI / 4.0 / f64::from(self.teeth))
    }

    /// Half the tooth's angle where its flank is the involute.
    fn half_on_involute(&self, radius: f64) -> f64 {
        let alpha = (self.base_radius_mm() / radius).min(1.0).acos();
        PI / 2.0 / f64::from(self.teeth) + inv(PRESSURE_ANGLE_DEG.to_radians())
            - inv(alpha)
            - self.thinned()
    }

    /// The outside radius, or where the flanks meet in a point before it.
    fn tip_radius_mm(&self) -> f64 {
        let (mut low, mut high) = (self.pitch_radius_mm(), self.outside_radius_mm());
        if self.half_on_involute(high) >= 0.0 {
            return high;
        }
        for _ in 0..60 {
            let middle = (low + high) / 2.0;
            if self.half_on_involute(middle) >= 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        low
    }

    /// The rack's corner as it rolls past, `along` the pitch line from the line of centres: its
    /// radius, and its angle from the middle of the gap it cuts.
    fn corner_path(&self, along: f64) -> (f64, f64) {
        let pitch = self.pitch_radius_mm();
        let depth = DEDENDUM * self.module_mm;
        let half_tip = PI * self.module_mm / 4.0 - depth * PRESSURE_ANGLE_DEG.to_radians().tan();
        let up = pitch - depth;
        (
            up.hypot(along),
            along.atan2(up) - (along - half_tip) / pitch,
        )
    }

    /// Half the tooth's angle where the rack's corner has cut it.
    fn half_under_cut(&self, radius: f64) -> f64 {
        let along = (radius * radius - self.root_radius_mm().powi(2))
            .max(0.0)
            .sqrt();
        PI / f64::from(self.teeth) - self.corner_path(along).1 - self.thinned()
    }
}

/// What runs in a loop round two wheels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoopKind {
    /// A roller chain on sprockets: an even number of links, so that inner and outer plates join.
    Chain,
    /// A toothed belt on pulleys.
    Belt,
}

/// A sprocket or a toothed pulley. Its gaps, where rollers or belt teeth lie, are half a pitch from
/// its teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LoopWheel {
    /// What runs on it.
    pub kind: LoopKind,
    /// How many teeth.
    pub teeth: u32,
    /// From one roller, or belt tooth, to the next.
    pub pitch_mm: f64,
}

impl LoopWheel {
    /// Of a chain's pitch, the roller's radius: a middle of common chains, to look right.
    const ROLLER: f64 = 0.31;
    /// Of a belt's pitch, how far its cords lie over the pulley's rim, and how deep a gap is: to
    /// look right.
    const CORDS: f64 = 0.06;
    const GAP: f64 = 0.24;

    /// The circle on which the rollers' pins, or the belt's cords, lie. A chain's links are
    /// straight: p = 2 r sin(π / z).
    pub fn pitch_radius_mm(&self) -> f64 {
        let kind = match self.kind {
            LoopKind::Chain => DriveKind::Chain,
            LoopKind::Belt => DriveKind::Belt,
        };
        chain_run::pitch_radius_mm(kind, self.pitch_mm, self.teeth)
    }

    /// The circle through the tips.
    pub fn outside_radius_mm(&self) -> f64 {
        match self.kind {
            LoopKind::Chain => self.pitch_radius_mm() + Self::ROLLER * 0.8 * self.pitch_mm,
            LoopKind::Belt => self.pitch_radius_mm() - Self::CORDS * self.pitch_mm,
        }
    }

    /// A chain's roller radius; for a belt how thick its back is over the cords.
    pub fn roller_radius_mm(&self) -> f64 {
        match self.kind {
            LoopKind::Chain => Self::ROLLER * self.pitch_mm,
            LoopKind::Belt => Self::CORDS * self.pitch_mm,
        }
    }

    /// The outline: for a chain a round seat a roller, for a belt a flat-bottomed gap a tooth.
    pub fn outline(&self) -> Vec<DVec2> {
        let teeth = self.teeth.max(1);
        let pitch = TAU / f64::from(teeth);
        let gap = self.gap();
        (0..teeth)
            .flat_map(|tooth| {
                let middle = pitch * (f64::from(tooth) - 0.5);
                gap.iter()
                    .map(move |&(radius, off)| on_clock(radius, middle + off))
            })
            .collect()
    }

    /// One gap, clockwise: radius, and angle from its middle. It ends where the next one starts, at
    /// the tips.
    fn gap(&self) -> Vec<(f64, f64)> {
        let pitch_radius = self.pitch_radius_mm();
        let half = PI / f64::from(self.teeth.max(1));
        let outside = self.outside_radius_mm();
        match self.kind {
            LoopKind::Chain => {
                /// Points of a seat: enough that it looks round.
                const SEAT: i32 = 8;
                let seat = self.roller_radius_mm() * 1.01;
                // A seat of 140° under the roller, then straight to the tip's flat.
                let arc = (-SEAT..=SEAT).map(|index| {
                    let at = PI + 70.0_f64.to_radians() * f64::from(-index) / f64::from(SEAT);
                    let point = DVec2::new(seat * at.sin(), pitch_radius + seat * at.cos());
                    (point.length(), point.x.atan2(point.y))
                });
                let tip = half - 0.12 * self.pitch_mm / outside;
                std::iter::once((outside, -tip))
                    .chain(arc)
                    .chain(std::iter::once((outside, tip)))
                    .collect()
            }
            LoopKind::Belt => {
                let bottom = outside - Self::GAP * self.pitch_mm;
                let (wide, narrow) = (0.3 * self.pitch_mm / outside, 0.2 * self.pitch_mm / bottom);
                vec![
                    (outside, -wide),
                    (bottom, -narrow),
                    (bottom, narrow),
                    (outside, wide),
                ]
            }
        }
    }
}

/// A chain or belt round two wheels that turn the same way, the driver's centre at the origin.
///
/// The centres stand so far apart that the loop is a whole number of pitches long, an even one for
/// a chain. Along the loop a pitch counts as one tooth on a wheel and as its length between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loop {
    /// The wheel that drives, at the origin.
    pub driver: LoopWheel,
    /// The wheel that is driven.
    pub driven: LoopWheel,
    /// Clock direction from the driver's centre to the driven's.
    pub towards_deg: f64,
    /// How far apart the centres stand.
    pub centres_mm: f64,
    /// Pitches in the whole loop.
    pub pitches: u32,
}

impl Loop {
    /// A loop of `kind` and `pitch_mm` with its centres about `centres_mm` apart, moved to the
    /// nearest distance at which the pitches come out whole, and never so near that the wheels
    /// meet.
    pub fn new(
        kind: LoopKind,
        teeth: (u32, u32),
        pitch_mm: f64,
        towards_deg: f64,
        centres_mm: f64,
    ) -> Self {
        let [driver, driven] = [teeth.0, teeth.1].map(|teeth| LoopWheel {
            kind,
            teeth,
            pitch_mm,
        });
        let least = driver.outside_radius_mm() + driven.outside_radius_mm() + pitch_mm / 2.0;
        let mut path = Self {
            driver,
            driven,
            towards_deg,
            centres_mm: centres_mm.max(least),
            pitches: 0,
        };
        let step = if kind == LoopKind::Chain { 2.0 } else { 1.0 };
        let mut pitches = (path.length_mm() / pitch_mm / step).round() * step;
        path.centres_mm = least;
        if path.length_mm() > pitches * pitch_mm {
            pitches += step;
        }
        // Longer with every millimetre between the centres: halve until it fits.
        let (mut low, mut high) = (least, pitches * pitch_mm);
        for _ in 0..80 {
            path.centres_mm = (low + high) / 2.0;
            if path.length_mm() < pitches * pitch_mm {
                low = path.centres_mm;
            } else {
                high = path.centres_mm;
            }
        }
        path.pitches = pitches as u32;
        path
    }

    /// The driven wheel's centre.
    pub fn driven_centre(&self) -> DVec2 {
        on_clock(self.centres_mm, self.towards_deg.to_radians())
    }

    /// How far either way from the line of centres the loop leaves the wheels, degrees, and the
    /// length of a free span.
    fn tangent(&self) -> (f64, f64) {
        let more = self.driver.pitch_radius_mm() - self.driven.pitch_radius_mm();
        (
            (more / self.centres_mm)
                .clamp(-1.0, 1.0)
                .acos()
                .to_degrees(),
            (self.centres_mm.powi(2) - more.powi(2)).max(0.0).sqrt(),
        )
    }

    /// The ends of the straight run on one side of the line of centres, +1 the one clockwise from
    /// it: at the driver, at the driven.
    pub fn run(&self, side: f64) -> [DVec2; 2] {
        let at = (self.towards_deg + side * self.tangent().0).to_radians();
        [
            on_clock(self.driver.pitch_radius_mm(), at),
            self.driven_centre() + on_clock(self.driven.pitch_radius_mm(), at),
        ]
    }

    /// The whole loop, in pitches' worth of length.
    fn length_mm(&self) -> f64 {
        let (half, span) = self.tangent();
        let on_wheels = f64::from(self.driver.teeth) * (360.0 - 2.0 * half)
            + f64::from(self.driven.teeth) * 2.0 * half;
        2.0 * span + on_wheels * self.driver.pitch_mm / 360.0
    }

    /// The turn at which the driven wheel's gaps take the loop, with the driver at
    /// `driver_turn_deg`. Any whole number of the driven's teeth may be added.
    pub fn meshed_turn_deg(&self, driver_turn_deg: f64) -> f64 {
        let (half, span) = self.tangent();
        let leaves = self.towards_deg - half;
        let teeth_past = (driver_turn_deg - leaves) * f64::from(self.driver.teeth) / 360.0
            - span / self.driver.pitch_mm;
        leaves + teeth_past * 360.0 / f64::from(self.driven.teeth)
    }

    /// Where the rollers (or the belt's teeth) are with the driver at `driver_turn_deg`: each with
    /// its clock direction outwards from the loop, clockwise round it.
    pub fn rollers(&self, driver_turn_deg: f64) -> Vec<(DVec2, f64)> {
        let leaves = self.towards_deg - self.tangent().0;
        let first = (driver_turn_deg - leaves) * f64::from(self.driver.teeth) / 360.0 + 0.5;
        (0..self.pitches)
            .map(|index| self.at(f64::from(index) + first))
            .collect()
    }

    /// The loop's line as a closed path of points, clockwise, `per_pitch` of them a pitch.
    pub fn path(&self, per_pitch: u32) -> Vec<DVec2> {
        let per_pitch = per_pitch.max(1);
        (0..self.pitches * per_pitch)
            .map(|index| self.at(f64::from(index) / f64::from(per_pitch)).0)
            .collect()
    }

    /// The point `pitches` along from where the loop leaves the driver for the driven wheel, and
    /// its direction outwards.
    fn at(&self, pitches: f64) -> (DVec2, f64) {
        let (half, span) = self.tangent();
        let mut along = pitches.rem_euclid(f64::from(self.pitches.max(1))) * self.driver.pitch_mm;
        let (leaves, comes) = (self.towards_deg - half, self.towards_deg + half);
        let on = |centre: DVec2, wheel: &LoopWheel, clock_deg: f64| {
            (
                centre + on_clock(wheel.pitch_radius_mm(), clock_deg.to_radians()),
                clock_deg,
            )
        };
        let between = |(from, out): (DVec2, f64), (to, _): (DVec2, f64), part: f64| {
            (from.lerp(to, part), out)
        };
        let there = self.driven_centre();
        let over_driven = 2.0 * half / 360.0 * f64::from(self.driven.teeth) * self.driven.pitch_mm;

        if along < span {
            return between(
                on(DVec2::ZERO, &self.driver, leaves),
                on(there, &self.driven, leaves),
                along / span,
            );
        }
        along -= span;
        if along < over_driven {
            return on(
                there,
                &self.driven,
                leaves + 2.0 * half * along / over_driven,
            );
        }
        along -= over_driven;
        if along < span {
            return between(
                on(there, &self.driven, comes),
                on(DVec2::ZERO, &self.driver, comes),
                along / span,
            );
        }
        along -= span;
        on(
            DVec2::ZERO,
            &self.driver,
            comes + along / self.driver.pitch_mm * 360.0 / f64::from(self.driver.teeth),
        )
    }
}
