//! The guided job: its steps in the order of the bench, for one engine and one way.

use super::bench::Bench;
use super::step::Step;
use super::way::Way;
use super::{cam, closing, dead_centres, distributor, measured, own, parts, spark, valves};
use crate::diagnosis::stage::Stage;
use crate::phasing::Phasing;
use crate::procedures::dropin::dropin;

/// The whole job.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// Its steps, in the order they are done.
    pub steps: Vec<Step>,
}

impl Job {
    /// The job of a new build, for an engine as drawn; how it was put together so far does not change
    /// what must be done.
    pub fn of(phasing: &Phasing) -> Self {
        Self::by(phasing, Way::NewBuild)
    }

    /// The job by another way.
    ///
    /// ```
    /// use dotwise::engine::scenes::BENCH;
    /// use dotwise::phasing::Phasing;
    /// use dotwise::procedures::job::{Job, Way};
    /// let bench = Phasing::as_drawn(&BENCH.engine());
    /// // Opened at the front alone, the distributor stays in.
    /// assert!(Job::of(&bench).step("rotor-home").is_some());
    /// assert!(Job::by(&bench, Way::FrontOpened).step("rotor-home").is_none());
    /// ```
    pub fn by(phasing: &Phasing, way: Way) -> Self {
        Self::at(phasing, way, Stage::default())
    }

    /// The same, of an engine that is at this stage: where No. 1's dead centres are looked for then,
    /// what can be seen then is named.
    pub fn at(phasing: &Phasing, way: Way, stage: Stage) -> Self {
        let drawn = Phasing::as_drawn(phasing.engine());
        // With the case open there are no dead centres to look for yet.
        let stage = stage.max(Stage::CoverOff);
        Self {
            steps: all(Bench {
                drawn: &drawn,
                way,
                stage,
            }),
        }
    }

    /// The step of that key.
    pub fn step(&self, key: &str) -> Option<&Step> {
        self.steps.iter().find(|step| step.key == key)
    }
}

fn all(on: Bench<'_>) -> Vec<Step> {
    let dropped = dropin(on.drawn);
    let dropped = dropped.as_ref().zip(on.d().distributor.as_ref());
    let mut steps = parts::steps(on);
    steps.extend(cam::steps(on));
    steps.extend(measured::steps(on));
    steps.extend([dead_centres::overlap(on), dead_centres::firing(on)]);
    if let Some((drop, distributor)) = dropped {
        steps.extend(distributor::steps(on, drop, distributor));
    }
    steps.extend([closing::two_turns(on), closing::cover_on(on)]);
    steps.extend(spark::set(on, dropped.map(|(_, distributor)| distributor)));
    steps.extend(spark::leads(on, dropped));
    if on.all_is_out() {
        steps.extend(valves::steps(on));
    }
    steps.extend([
        closing::last_turns(on),
        closing::record(),
        closing::first_start(on),
    ]);
    own::place(&mut steps, on.engine().written());
    steps
}
