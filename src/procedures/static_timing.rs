//! Setting the ignition of an engine without a distributor: No. 1's firing TDC by its witnesses, the
//! spark by a lamp or a light, and the leads on their coils.

use serde::{Serialize, Serializer};

use super::crank_marks::CrankMark;
use super::dropin::pointed_at;
use super::witnesses::{Witnesses, witnesses};
use crate::diagnosis::stage::{Sight, Stage};
use crate::laws::ignition;
use crate::phasing::Phasing;
use crate::words::{Units, cylinders, degrees, length};

/// Everything for setting the ignition of an engine without a distributor.
#[derive(Clone, Debug, PartialEq)]
pub struct StaticTiming {
    /// Crank degrees before TDC at which the spark is set to come.
    pub btdc_deg: f64,
    /// Whether each plug sparks on overlap too, so that either turn of the crank serves.
    pub every_turn: bool,
    /// Round the pulley's rim from the TDC mark, millimetres; None without a diameter.
    pub on_pulley_mm: Option<f64>,
    /// The coils, each with the cylinders whose leads are on it; empty where none are described.
    pub coils: Vec<Vec<u8>>,
    /// What tells firing TDC from overlap.
    pub witnesses: Witnesses,
    /// The crankshaft's own marks, No. 1 at TDC; empty where none of them is read at a pointer.
    pub crank_marks: Vec<CrankMark>,
    /// Whether all that tell say firing TDC, as built.
    pub agreed: bool,
}

/// How to set the ignition as it is drawn, with the cam drive's cover off and everything else in;
/// the witnesses show what they do as built. None for an engine with a distributor, which is
/// dropped in.
pub fn static_timing(phasing: &Phasing) -> Option<StaticTiming> {
    static_timing_at(phasing, Stage::default(), &[])
}

/// The same by the witnesses of a stage, without what is not in yet.
pub fn static_timing_at(
    phasing: &Phasing,
    stage: Stage,
    without: &[Sight],
) -> Option<StaticTiming> {
    let engine = phasing.engine();
    let d = engine.metric();
    if d.distributor.is_some() {
        return None;
    }
    let witnesses = witnesses(phasing, stage, without);
    Some(StaticTiming {
        btdc_deg: d.ignition.static_advance,
        every_turn: engine.sparks_every_turn(),
        on_pulley_mm: d
            .pulley_diameter
            .map(|diameter| ignition::on_pulley_mm(diameter, d.ignition.static_advance)),
        coils: engine.coils().to_vec(),
        agreed: witnesses.agreed(),
        witnesses,
        crank_marks: pointed_at(&Phasing::as_drawn(engine)),
    })
}

/// How the spark is set, a step each: by a lamp at rest, and what that and a timing light can tell.
pub(crate) fn set_by_lamp(found: &StaticTiming, units: Units) -> Vec<String> {
    let side = if found.btdc_deg < 0.0 {
        "after"
    } else {
        "before"
    };
    let arc = found.on_pulley_mm.map_or(String::new(), |mm| {
        format!(", {} round the pulley", length(mm.abs(), units))
    });
    let place = format!("{} {side} No. 1's TDC{arc}", degrees(found.btdc_deg.abs()));
    let set = "With a lamp over the points, or a tester on the trigger, slacken the points' plate, the trigger or the magneto and turn it until \
         the lamp just changes; clamp it, turn the crank well back and come up forwards again: the lamp must change at the mark.";
    let turn = if found.every_turn {
        format!(
            "Bring the crank forwards to {place}: either turn serves, for the spark comes every turn, about firing TDC and on overlap alike. \
             {set}"
        )
    } else {
        format!(
            "Bring the crank forwards to {place}, coming up to its FIRING TDC and not to overlap: a turn out, every spark comes on overlap. \
             {set}"
        )
    };
    let light = if found.every_turn {
        "A timing light shows the same mark on both turns: the one spark is useful and the other is wasted, and neither lamp nor light can \
         tell firing TDC from overlap. Only the witnesses above can."
    } else {
        "A timing light shows the crank's mark, which cannot tell firing TDC from overlap: the turn is known by the witnesses above."
    };
    vec![turn, light.to_owned()]
}

/// How the leads go on the coils.
pub(crate) fn leads_on_coils(coils: &[Vec<u8>]) -> String {
    let all: Vec<String> = coils.iter().map(|coil| cylinders(coil)).collect();
    let either = if coils.iter().any(|coil| coil.len() > 1) {
        " The two leads of one coil may go either way about: both plugs spark together."
    } else {
        ""
    };
    let other = if coils.len() > 1 {
        " A lead on another coil gets its sparks at the wrong time."
    } else {
        ""
    };
    format!("Leads, coil by coil: {}.{either}{other}", all.join("; "))
}

/// The keys of a distributor dropped in, null or empty where there is none, and what there is beside.
#[derive(Serialize)]
struct Record<'a> {
    rotor_start_clock_deg: Option<f64>,
    rotor_end_clock_deg: Option<f64>,
    degrees_per_tooth: Option<f64>,
    teeth: [u8; 0],
    leads: [u8; 0],
    static_advance_deg: f64,
    sparks_every_turn: bool,
    coils: &'a [Vec<u8>],
    #[serde(flatten)]
    witnesses: &'a Witnesses,
    #[serde(skip_serializing_if = "<[CrankMark]>::is_empty")]
    crank_marks: &'a [CrankMark],
    agreed: bool,
}

impl Serialize for StaticTiming {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        Record {
            rotor_start_clock_deg: None,
            rotor_end_clock_deg: None,
            degrees_per_tooth: None,
            teeth: [],
            leads: [],
            static_advance_deg: self.btdc_deg,
            sparks_every_turn: self.every_turn,
            coils: &self.coils,
            witnesses: &self.witnesses,
            crank_marks: &self.crank_marks,
            agreed: self.agreed,
        }
        .serialize(serializer)
    }
}
