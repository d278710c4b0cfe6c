//! What every step is written for: the engine as drawn, and the way through the job.

use super::way::Way;
use crate::description::{Description, job_steps};
use crate::diagnosis::stage::{Sight, Stage};
use crate::engine::Engine;
use crate::phasing::Phasing;

pub(super) const NEVER_FORCE: &str =
    "Never force a crank that stops: back off and look. A valve may be on a piston.";
pub(super) const RUNNING_WAY: &str = "Come to the place in the running direction; if you pass it, go back well past and come up again, so that \
    slack lies where it runs.";
pub(super) const STILL: &str =
    "The crank must not move while the drive goes in. Fingers clear of the gears.";
pub(super) const MANUAL_FIRST: &str = "Take every figure from the engine maker's manual: a bolt that is too loose or too tight can break the engine.";

/// Before anything is closed.
pub(super) const PROVED: &str = "Every look of the proof for this stage was taken, and nothing else is left: the window's Proof, or `dotwise prove`.";

/// While the two halves of the case are apart.
const CASE_OPEN: &[Stage] = &[Stage::CaseOpen];
/// While the cam drive's cover is off.
pub(super) const COVER_OFF: &[Stage] = &[Stage::CoverOff];
/// Whether the cover is off or on, before the engine runs.
pub(super) const BEFORE_IT_RUNS: &[Stage] = &[Stage::CoverOff, Stage::CoverOn];
/// Everything closed.
pub(super) const CLOSED: &[Stage] = &[Stage::CoverOn, Stage::Fired];
/// At any time after the case is closed.
pub(super) const ANY_TIME: &[Stage] = &[Stage::CoverOff, Stage::CoverOn, Stage::Fired];

/// The engine as drawn, and the way through the job.
#[derive(Clone, Copy)]
pub(super) struct Bench<'a> {
    pub(super) drawn: &'a Phasing,
    pub(super) way: Way,
    /// The stage at which No. 1's dead centres are looked for.
    pub(super) stage: Stage,
}

impl Bench<'_> {
    pub(super) fn engine(&self) -> &Engine {
        self.drawn.engine()
    }

    /// The description, its lengths in millimetres.
    pub(super) fn d(&self) -> &Description {
        self.drawn.engine().metric()
    }

    /// Whether the halves of the case come apart on this way.
    pub(super) fn case_opens(&self) -> bool {
        job_steps::is_split(self.d()) && self.way != Way::FrontOpened
    }

    /// Whether the cam drive is laid open on this way.
    pub(super) fn cam_drive_is_reached(&self) -> bool {
        self.case_opens() || !self.d().cam_drive_lies_in_the_case()
    }

    /// Whether the camshaft is laid into one half of the case, beside the crank.
    pub(super) fn cam_lies_in_the_case(&self) -> bool {
        self.case_opens() && !self.d().has_overhead_camshafts()
    }

    /// When the camshaft goes in.
    pub(super) fn while_the_cam_goes_in(&self) -> &'static [Stage] {
        if self.cam_lies_in_the_case() {
            CASE_OPEN
        } else {
            COVER_OFF
        }
    }

    /// Whether everything was out but for what lies behind the cam drive's cover.
    pub(super) fn all_is_out(&self) -> bool {
        self.way != Way::FrontOpened
    }

    /// What is not in yet when No. 1's dead centres are found: the distributor goes in by them.
    pub(super) fn not_to_be_looked_at(&self) -> &'static [Sight] {
        if self.all_is_out() {
            &[Sight::Rotor]
        } else {
            &[]
        }
    }

    /// When crank and camshaft go in.
    pub(super) fn early(&self) -> &'static [Stage] {
        if self.case_opens() {
            CASE_OPEN
        } else {
            COVER_OFF
        }
    }
}
