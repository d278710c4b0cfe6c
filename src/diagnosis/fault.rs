//! What is out, in a sentence a builder uses.

use super::coil_leads;
use super::hypotheses::{LeadsFault, leads_of};
use crate::angle::{CrankAngle, RotorTurn};
use crate::description::{Coupling, Distributor};
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition;
use crate::laws::ignition::{CapAngles, DriveOut};
use crate::words::{body_way, capitalised, cylinders, degrees, past, teeth, towers};

/// What is out, in one sentence.
///
/// ```
/// use dotwise::engine::Assembly;
/// use dotwise::diagnosis::fault;
/// use dotwise::engine::scenes::BENCH;
/// let assembly = Assembly { drive_teeth: -1, ..Assembly::default() };
/// assert_eq!(fault::describe(&BENCH.engine(), &assembly), "The distributor drive is one tooth behind.");
/// ```
pub fn describe(engine: &Engine, assembly: &Assembly) -> String {
    let mut parts = Vec::new();
    parts.extend(camshafts(engine, assembly.cams()));
    if let Some(distributor) = &engine.metric().distributor {
        let out = if distributor.is_on_geared_shaft() {
            shaft_and_tongue(distributor, assembly.drive_out())
        } else {
            drive(distributor, assembly.drive_teeth)
        };
        parts.extend(out.map(|out| {
            let tower = nearest_tower(engine, distributor, assembly);
            out + &tower.unwrap_or_default()
        }));
        let order = engine.firing_order();
        let fault = LeadsFault::of(order, leads_of(engine, assembly));
        parts.extend(leads(engine, fault, order.len()));
        if assembly.body_turn_deg != 0.0 {
            let way = body_way(distributor.rotation(), assembly.body_turn_deg);
            parts.push(format!(
                "the body stands turned {} {way}",
                degrees(assembly.body_turn_deg.abs())
            ));
        }
    } else if !engine.coils().is_empty() {
        let plugged = leads_of(engine, assembly);
        parts.extend(leads(
            engine,
            LeadsFault::on(engine, plugged),
            plugged.len(),
        ));
        parts.extend(harmless_leads(engine, assembly));
    }
    match parts.split_last() {
        None => "Everything is as drawn.".into(),
        Some((last, [])) => format!("{}.", capitalised(last)),
        Some((last, before)) => format!("{}, and {last}.", capitalised(&before.join(", "))),
    }
}

/// Each camshaft that is out; one sentence for all where every one is out alike.
fn camshafts(engine: &Engine, cams: CamTeeth) -> Vec<String> {
    let out = |who: &str, out: i32| {
        let way = if out > 0 {
            "ahead (advanced)"
        } else {
            "behind (retarded)"
        };
        format!("{who} is {} {way}", teeth(out))
    };
    if cams.all_out_alike(engine.camshaft_count()) {
        return vec![out("every camshaft", cams.of(0))];
    }
    cams.out()
        .map(|(camshaft, teeth)| out(&format!("the {}", engine.camshaft_name(camshaft)), teeth))
        .collect()
}

fn drive(distributor: &Distributor, drive_teeth: i32) -> Option<String> {
    let half = drive_teeth.unsigned_abs() * 2 == distributor.driven_teeth;
    let way = if drive_teeth > 0 { "ahead" } else { "behind" };
    let out = teeth(drive_teeth);
    match distributor.coupling() {
        _ if drive_teeth == 0 => None,
        Coupling::CentralTongue if half => {
            Some("the distributor's tongue went home half a turn out".into())
        }
        _ if half => Some(format!("the distributor drive is half a turn out ({out})")),
        _ => Some(format!("the distributor drive is {out} {way}")),
    }
}

/// A geared shaft out of mesh and the tongue in it half a turn out, each by its name; where with a
/// central slot fewer teeth and the tongue turned about come to the same, both.
fn shaft_and_tongue(distributor: &Distributor, out: DriveOut) -> Option<String> {
    const TONGUE: &str = "the distributor's tongue went home half a turn out";
    if !out.is_as_drawn() && out.simplest(distributor).is_as_drawn() {
        return Some(
            "the distributor's shaft and its tongue are each half a turn out, which with a central slot is as drawn".into(),
        );
    }
    let way = |teeth: i32| if teeth > 0 { "ahead" } else { "behind" };
    let half = out.teeth.unsigned_abs() * 2 == distributor.driven_teeth;
    let shaft = if half {
        format!(
            "the distributor's shaft is half a turn out ({})",
            teeth(out.teeth)
        )
    } else {
        format!(
            "the distributor's shaft is {} {}",
            teeth(out.teeth),
            way(out.teeth)
        )
    };
    let other = out.other_way(distributor);
    match (out.teeth != 0, out.half_turn) {
        (false, false) => None,
        (false, true) => Some(match other {
            Some(_) => {
                format!("{TONGUE} (or its shaft did, which with a central slot is the same)")
            }
            None => TONGUE.to_owned(),
        }),
        (true, true) => Some(format!("{shaft}, and its tongue went home half a turn out")),
        (true, false) => Some(match other {
            Some(_) if half => {
                format!("{shaft} (or its tongue is, which with a central slot is the same)")
            }
            Some(other) if other.teeth.abs() < out.teeth.abs() => format!(
                "{shaft} (or {} {} with its tongue half a turn out, which with a central slot is the same)",
                teeth(other.teeth),
                way(other.teeth)
            ),
            _ => shaft,
        }),
    }
}

/// Leads changed over on a coil, where it does no harm.
fn harmless_leads(engine: &Engine, assembly: &Assembly) -> Option<String> {
    let who = coil_leads::harmless(engine, leads_of(engine, assembly));
    (!who.is_empty()).then(|| {
        format!(
            "the leads of {} are changed over where it does no harm: their plugs spark together",
            cylinders(&who)
        )
    })
}

/// Where a drive so far out puts the rotor at No. 1's firing TDC, where another tower is nearer to
/// it there than No. 1's: what a builder sees, where he does not count teeth.
fn nearest_tower(
    engine: &Engine,
    distributor: &Distributor,
    assembly: &Assembly,
) -> Option<String> {
    let metric = engine.metric();
    let teeth_out = ignition::teeth_out(metric, assembly.cams(), assembly.drive_out());
    let body_turn = RotorTurn::new(assembly.body_turn_deg);
    let cap = CapAngles::of(distributor, &metric.ignition, teeth_out, body_turn);
    let past_number_one = cap.past_number_one_deg(CrankAngle::new(0.0));
    let towers = engine.firing_order().iter().zip(engine.firing_angles());
    let (number, past_deg) = towers
        .map(|(number, fires)| (*number, cap.past_tower_deg(past_number_one, *fires)))
        .min_by(|one, other| one.1.abs().total_cmp(&other.1.abs()))?;
    let place = past(past_deg, 1);
    // A tongue half a turn out is said to be so already.
    let said = distributor.coupling() == Coupling::CentralTongue
        && (assembly.tongue_half_turn || !distributor.is_on_geared_shaft());
    let elsewhere = number != 1 && !said;
    elsewhere.then(|| format!(", its rotor {place} the tower of No. {number} where No. 1 fires"))
}

fn leads(engine: &Engine, fault: LeadsFault, towers_on_the_cap: usize) -> Option<String> {
    match fault {
        LeadsFault::AsDrawn => None,
        LeadsFault::MovedRound(moved) if moved.unsigned_abs() as usize * 2 == towers_on_the_cap => {
            Some("the leads are plugged half-way round the cap".into())
        }
        LeadsFault::MovedRound(moved) => {
            let way = if moved > 0 {
                "on, in the rotor's direction"
            } else {
                "back, against the rotor's direction"
            };
            Some(format!("the leads are plugged {} {way}", towers(moved)))
        }
        LeadsFault::ChangedOver(one, other) => Some(format!(
            "the leads of No. {one} and No. {other} are changed over"
        )),
        LeadsFault::CoilsChangedOver(one, other) => {
            let coil = |index: usize| {
                let coil = engine.coils().get(index).map_or(&[][..], Vec::as_slice);
                cylinders(coil)
            };
            Some(format!(
                "the coils of {} and of {} are changed over",
                coil(one),
                coil(other)
            ))
        }
        LeadsFault::Mixed(_) => Some("the leads are mixed up".into()),
    }
}
