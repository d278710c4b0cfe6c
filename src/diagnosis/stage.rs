//! How far the build has got: what can be seen and reached at each stage of it.

use serde::{Deserialize, Serialize};

use crate::description::walk::Walk;

/// How far the build has got.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
)]
pub enum Stage {
    /// Crank and camshaft lie in one half of the case: dots, lobes and throws are in sight, and
    /// there are no heads yet.
    CaseOpen,
    /// The cam drive's cover is off: the dots are in sight, and everything else is in.
    #[default]
    CoverOff,
    /// Everything is closed, and the engine has not run yet.
    CoverOn,
    /// It can be cranked, and lit.
    Fired,
}

/// What a look can be taken at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Sight {
    /// The dots of the cam drive's wheels.
    Dots,
    /// The lobes, and the followers on them.
    Lobes,
    /// The valves, or their rockers.
    Valves,
    /// A thumb over a plug hole.
    Thumb,
    /// The rotor.
    Rotor,
    /// The leads from tower to plug.
    Leads,
    /// A lamp over the points, the crank turned by hand.
    Lamp,
    /// A timing light, the engine cranked.
    Strobe,
}

use Sight::{Dots, Lamp, Leads, Lobes, Rotor, Strobe, Thumb, Valves};

impl Sight {
    /// Every one.
    pub const ALL: [Self; 8] = [Dots, Lobes, Valves, Thumb, Rotor, Leads, Lamp, Strobe];

    /// Its name, as it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Dots => "dots",
            Lobes => "lobes",
            Valves => "valves",
            Thumb => "thumb",
            Rotor => "rotor",
            Leads => "leads",
            Lamp => "lamp",
            Strobe => "strobe",
        }
    }
}

impl Stage {
    /// Every stage, in the order of the build.
    pub const ALL: [Self; 4] = [Self::CaseOpen, Self::CoverOff, Self::CoverOn, Self::Fired];

    /// Its name, as it is typed.
    pub fn word(self) -> &'static str {
        match self {
            Self::CaseOpen => "case-open",
            Self::CoverOff => "cover-off",
            Self::CoverOn => "cover-on",
            Self::Fired => "fired",
        }
    }

    /// What it is, in a few words.
    pub fn what(self) -> &'static str {
        match self {
            Self::CaseOpen => "crank and camshaft in one half of the case, no heads yet",
            Self::CoverOff => "the cam drive's cover off, everything else in",
            Self::CoverOn => "everything closed, not run yet",
            Self::Fired => "it can be cranked, and lit",
        }
    }

    /// Its name in a sentence: the thumb can be had *with the cover off*.
    pub fn phrase(self) -> &'static str {
        match self {
            Self::CaseOpen => "with the case open",
            Self::CoverOff => "with the cover off",
            Self::CoverOn => "with the cover on",
            Self::Fired => "once it can be lit",
        }
    }

    /// What can be seen and reached.
    pub fn sights(self) -> &'static [Sight] {
        match self {
            Self::CaseOpen => &[Dots, Lobes, Rotor],
            Self::CoverOff => &[Dots, Valves, Thumb, Rotor, Leads],
            Self::CoverOn => &[Valves, Thumb, Rotor, Leads, Lamp],
            Self::Fired => &[Valves, Thumb, Rotor, Leads, Lamp, Strobe],
        }
    }

    /// What can be seen and reached, but for what is not in yet.
    pub fn sights_without(self, without: &[Sight]) -> Vec<Sight> {
        let sights = self.sights().iter().copied();
        sights.filter(|sight| !without.contains(sight)).collect()
    }

    /// The stage nearest to this one at which something can be seen; of two as near, the later.
    pub fn nearest_with(self, sight: Sight) -> Option<Self> {
        let has = Self::ALL
            .into_iter()
            .filter(|stage| stage.sights().contains(&sight));
        has.min_by_key(|stage| (stage.stages_from(self), *stage < self))
    }

    /// How many stages this one is from another.
    pub fn stages_from(self, other: Self) -> u8 {
        (self as u8).abs_diff(other as u8)
    }

    /// Whether the cam drive is closed up.
    pub fn is_closed(self) -> bool {
        matches!(self, Self::CoverOn | Self::Fired)
    }
}

impl Walk for Stage {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_seen_at_a_stage_waits_for_the_nearest_that_has_it() {
        assert_eq!(Stage::CaseOpen.nearest_with(Thumb), Some(Stage::CoverOff));
        assert_eq!(Stage::Fired.nearest_with(Dots), Some(Stage::CoverOff));
        assert_eq!(Stage::CoverOff.nearest_with(Lamp), Some(Stage::CoverOn));
        assert_eq!(Stage::CoverOn.nearest_with(Lobes), Some(Stage::CaseOpen));
        let none = Stage::CoverOff.sights_without(&Sight::ALL);
        assert_eq!(none, []);
    }
}
