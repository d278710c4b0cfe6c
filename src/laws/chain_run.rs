//! A chain or toothed belt round the crank's wheel and the camshaft's: the wheels' sizes, the side
//! that pulls, and the links between the two marks.
//!
//! *Links* are pitches: a chain's from pin to pin, a belt's from tooth to tooth. On a pitch p the
//! pins of a chain lie on a circle of radius p / (2 sin(π / z)), for its links are straight; the
//! cords of a belt on one of radius p z / 2π. Source: pitch diameter of a sprocket, ANSI B29.1 and
//! *Machinery's Handbook*; of a synchronous pulley, ISO 5294 (from memory).
//!
//! The crank pulls: the side on which the chain runs towards its wheel is the **tight** one. With
//! the crank turning clockwise that is the side clockwise from the direction to the camshaft, and
//! the other way round. The tensioner lies on the other, the slack side.
//!
//! Links are counted along the chain from the crank wheel's mark to the camshaft wheel's, on one
//! side: z₁ a / 360 on the crank's wheel from the mark to where the chain leaves it, the straight
//! run √(C² − (r₂ − r₁)²) / p, and z₂ b / 360 on the camshaft's wheel from where the chain comes to
//! it to the mark. The chain leaves both wheels at 90° + β from the line of centres, sin β =
//! (r₂ − r₁) / C. Worked out here from the common tangent of two circles.

use crate::angle::{Direction, wrap};
use crate::description::{CamDrive, CountedOn, Description, DriveKind};

/// The radius of a wheel's pitch circle on a chain or belt of this pitch.
///
/// ```
/// use dotwise::description::DriveKind;
/// use dotwise::laws::chain_run::pitch_radius_mm;
/// // A sprocket of 20 teeth on a chain of 9.525 mm: 60.89 mm of pitch diameter (ANSI tables).
/// let radius = pitch_radius_mm(DriveKind::Chain, 9.525, 20);
/// assert!((2.0 * radius - 60.89).abs() < 0.005);
/// ```
pub fn pitch_radius_mm(kind: DriveKind, pitch_mm: f64, teeth: u32) -> f64 {
    let teeth = f64::from(teeth.max(1));
    match kind {
        DriveKind::Chain => pitch_mm / 2.0 / (std::f64::consts::PI / teeth).sin(),
        DriveKind::Gears | DriveKind::Belt => pitch_mm * teeth / std::f64::consts::TAU,
    }
}

/// On which side of the direction to the camshaft the tight run lies: +1 clockwise from it, −1
/// anticlockwise.
pub fn tight_side(crank: Direction) -> f64 {
    crank.sign()
}

/// On which side of the line of centres links are counted: +1 clockwise from the direction to the
/// camshaft, −1 anticlockwise.
pub(crate) fn counting_side(description: &Description) -> f64 {
    let tight = tight_side(description.crankshaft.rotation());
    match description.cam_drive.counted_on() {
        CountedOn::TightSide => tight,
        CountedOn::SlackSide => -tight,
    }
}

/// Where the mark on the first camshaft's wheel stands where the marks meet: degrees from the
/// direction to the camshaft towards the side on which links are counted. None without a mark.
pub(crate) fn cam_mark_deg(description: &Description, towards_deg: f64) -> Option<f64> {
    let mut marks = description.marks.iter();
    let mark = marks.find(|mark| mark.on.camshaft() == Some(0))?;
    let turned =
        description.crankshaft.rotation().sign() * description.cam_drive.marks_meet_at() / 2.0;
    Some(counting_side(description) * (mark.at + turned - towards_deg))
}

/// The two wheels with their chain; lengths in pitches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChainRun {
    teeth: [f64; 2],
    radii: [f64; 2],
    centres: f64,
}

impl ChainRun {
    /// The wheels of a drive with their centres this many pitches apart.
    pub fn new(drive: &CamDrive, centres: f64) -> Self {
        let teeth = [drive.crank_teeth, drive.cam_teeth];
        Self {
            teeth: teeth.map(f64::from),
            radii: teeth.map(|teeth| pitch_radius_mm(drive.kind, 1.0, teeth)),
            centres,
        }
    }

    /// How far from the line of centres the chain leaves each wheel, degrees: 90 and more, the
    /// camshaft's wheel being the larger.
    fn leaves_deg(&self) -> f64 {
        let [crank, cam] = self.radii;
        90.0 + ((cam - crank) / self.centres)
            .clamp(-1.0, 1.0)
            .asin()
            .to_degrees()
    }

    fn straight(&self) -> f64 {
        let [crank, cam] = self.radii;
        (self.centres.powi(2) - (cam - crank).powi(2))
            .max(0.0)
            .sqrt()
    }

    /// The most that lies on each wheel, crank's first.
    fn on_wheels(&self) -> [f64; 2] {
        let leaves = self.leaves_deg();
        let [crank, cam] = self.teeth;
        [
            crank * (360.0 - 2.0 * leaves) / 360.0,
            cam * 2.0 * leaves / 360.0,
        ]
    }

    /// Links on one side from the crank wheel's mark to the camshaft wheel's, each mark's degrees
    /// from the direction crank to camshaft, counted towards that side.
    pub fn links(&self, crank_mark_deg: f64, cam_mark_deg: f64) -> f64 {
        self.on_crank(crank_mark_deg) + self.straight() + self.on_cam(cam_mark_deg)
    }

    /// Of those, the links on the crank's wheel.
    pub fn on_crank(&self, mark_deg: f64) -> f64 {
        let [teeth, _] = self.teeth;
        wrap(mark_deg - self.leaves_deg(), 360.0) * teeth / 360.0
    }

    /// Of those, the links on the camshaft's wheel.
    pub fn on_cam(&self, mark_deg: f64) -> f64 {
        let [_, teeth] = self.teeth;
        wrap(self.leaves_deg() - mark_deg, 360.0) * teeth / 360.0
    }

    /// Whether the chain lies on the crank's wheel at a mark; its other teeth face the camshaft.
    pub fn lies_on_crank(&self, mark_deg: f64) -> bool {
        let [most, _] = self.on_wheels();
        self.on_crank(mark_deg) <= most
    }

    /// The same of the camshaft's wheel.
    pub fn lies_on_cam(&self, mark_deg: f64) -> bool {
        let [_, most] = self.on_wheels();
        self.on_cam(mark_deg) <= most
    }
}

/// What the count of links is held to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinksPossible {
    /// The fewest there can be.
    pub least: f64,
    /// The most there can be.
    pub most: f64,
}

/// How few and how many links there can be between the marks of these wheels, the camshaft's mark at
/// `cam_mark_deg` where that is known, the centres `centres` pitches apart at the least and at the
/// most. The crank wheel's mark may stand anywhere under the chain.
pub fn links_possible(
    drive: &CamDrive,
    cam_mark_deg: Option<f64>,
    centres: (f64, f64),
) -> LinksPossible {
    let near = ChainRun::new(drive, centres.0);
    let far = ChainRun::new(drive, centres.1);
    let on_cam = |run: &ChainRun| cam_mark_deg.map(|mark| run.on_cam(mark));
    LinksPossible {
        least: near.straight() + on_cam(&near).unwrap_or(0.0),
        most: far.straight() + far.on_wheels()[0] + on_cam(&far).unwrap_or(far.on_wheels()[1]),
    }
}

/// The nearest that the two wheels can stand, pitches: half a link between their tips, which stand
/// about a quarter of a pitch over the pitch circle on a sprocket.
pub fn nearest_centres(drive: &CamDrive) -> f64 {
    let run = ChainRun::new(drive, 1.0);
    run.radii.iter().sum::<f64>() + 1.0
}

/// What a link is called on this drive: `link` or `belt tooth`, one and more.
pub fn link_words(kind: DriveKind) -> (&'static str, &'static str) {
    match kind {
        DriveKind::Gears | DriveKind::Chain => ("link", "links"),
        DriveKind::Belt => ("belt tooth", "belt teeth"),
    }
}

/// How the marks are set where links between them are stated: `20 links on the tight side`;
/// None for gears.
pub fn count_words(drive: &CamDrive) -> Option<String> {
    let links = drive
        .links_between_marks
        .filter(|_| drive.kind != DriveKind::Gears)?;
    let (one, more) = link_words(drive.kind);
    let side = match drive.counted_on() {
        CountedOn::TightSide => "tight",
        CountedOn::SlackSide => "slack",
    };
    let count = crate::words::counted(links as usize, one, more);
    Some(format!("{count} on the {side} side"))
}

/// What a link more or fewer than counted comes to: `one more is a tooth behind, one fewer a tooth
/// ahead`. On the tight side the chain comes from the camshaft, so that a link more lets its wheel
/// stand further back; on the slack side it is the other way round.
pub fn miscounted_words(drive: &CamDrive) -> &'static str {
    match drive.counted_on() {
        CountedOn::TightSide => "one more is a tooth behind, one fewer a tooth ahead",
        CountedOn::SlackSide => "one more is a tooth ahead, one fewer a tooth behind",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn drive(kind: DriveKind, crank_teeth: u32) -> CamDrive {
        CamDrive {
            kind,
            crank_teeth,
            cam_teeth: 2 * crank_teeth,
            idler_teeth: Vec::new(),
            marks_meet_at: None,
            module: None,
            diametral_pitch: None,
            pitch: None,
            links_between_marks: None,
            counted_on: None,
            backlash: None,
            cam_at: None,
        }
    }

    #[test]
    fn both_sides_and_both_wheels_make_the_whole_chain() {
        // The length of a chain in pitches, by the usual approximation L = 2 C + (z1 + z2) / 2 +
        // ((z2 - z1) / 2π)² / C (Machinery's Handbook): good to a tenth of a link here.
        for (teeth, centres) in [(20, 40.0), (19, 30.0), (24, 55.0)] {
            let run = ChainRun::new(&drive(DriveKind::Chain, teeth), centres);
            let whole = 2.0 * run.straight() + run.on_wheels().iter().sum::<f64>();
            let z = f64::from(teeth);
            let usual = 2.0 * centres + 1.5 * z + (z / std::f64::consts::TAU).powi(2) / centres;
            assert_abs_diff_eq!(whole, usual, epsilon = 0.1);
            // From a mark on to the other by the one side, and on round by the other.
            let (crank, cam) = (170.0, 30.0);
            let round = run.links(crank, cam) + run.links(360.0 - crank, 360.0 - cam);
            assert_abs_diff_eq!(round, whole, epsilon = 1e-9);
        }
    }

    #[test]
    fn wheels_of_one_size_have_half_a_wheel_and_the_centres_between_marks_straight_away() {
        // Worked by hand: on equal wheels the chain leaves at a right angle, so a quarter of each
        // wheel and the distance of the centres lie between marks that point away from one another.
        let mut even = drive(DriveKind::Belt, 20);
        even.cam_teeth = 20;
        let run = ChainRun::new(&even, 25.0);
        assert_abs_diff_eq!(run.links(180.0, 0.0), 5.0 + 25.0 + 5.0, epsilon = 1e-9);
        assert!(run.lies_on_crank(180.0) && !run.lies_on_crank(0.0));
        assert!(run.lies_on_cam(0.0) && !run.lies_on_cam(180.0));
    }

    #[test]
    fn the_side_that_runs_to_the_crank_is_the_tight_one() {
        // A point of the chain on the crank's wheel goes on clockwise; beside the wheel, clockwise
        // from straight up, that is downwards: towards the crank, from the camshaft above it.
        assert_eq!(tight_side(Direction::Clockwise), 1.0);
        assert_eq!(tight_side(Direction::CounterClockwise), -1.0);
    }

    #[test]
    fn sprockets_are_as_large_as_the_tables_say() {
        // Pitch diameters for a pitch of 1: ANSI B29.1 tables (from memory): 17 teeth 5.442, 25
        // teeth 7.979, 30 teeth 9.567.
        for (teeth, diameter) in [(17, 5.442), (25, 7.979), (30, 9.567)] {
            let radius = pitch_radius_mm(DriveKind::Chain, 1.0, teeth);
            assert_abs_diff_eq!(2.0 * radius, diameter, epsilon = 6e-4);
        }
        // A belt's: circumference teeth times pitch.
        let radius = pitch_radius_mm(DriveKind::Belt, 8.0, 44);
        assert_abs_diff_eq!(radius * std::f64::consts::TAU, 352.0, epsilon = 1e-9);
    }

    #[test]
    fn what_is_possible_holds_every_pair_of_marks_under_the_chain() {
        let drive = drive(DriveKind::Chain, 19);
        let (near, far) = (nearest_centres(&drive), 60.0);
        let possible = links_possible(&drive, None, (near, far));
        for centres in [near, 35.0, far] {
            let run = ChainRun::new(&drive, centres);
            for crank in (0..360).step_by(7).map(f64::from) {
                for cam in (0..360).step_by(11).map(f64::from) {
                    if run.lies_on_crank(crank) && run.lies_on_cam(cam) {
                        let links = run.links(crank, cam);
                        assert!((possible.least - 1e-9..possible.most + 1e-9).contains(&links));
                    }
                }
            }
        }
    }
}
