//! What is out, in a sentence a builder uses.

use super::hypotheses::{LeadsFault, leads_of};
use crate::description::{Coupling, Distributor};
use crate::engine::{Assembly, Engine};
use crate::words::{body_way, capitalised, degrees, teeth, towers};

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
    if assembly.cam_teeth != 0 {
        let way = if assembly.cam_teeth > 0 {
            "ahead (advanced)"
        } else {
            "behind (retarded)"
        };
        parts.push(format!(
            "the camshaft is {} {way}",
            teeth(assembly.cam_teeth)
        ));
    }
    if let Some(distributor) = &engine.metric().distributor {
        parts.extend(drive(distributor, assembly.drive_teeth));
        let order = engine.firing_order();
        let fault = LeadsFault::of(order, leads_of(engine, assembly));
        parts.extend(leads(fault, order.len()));
        if assembly.body_turn_deg != 0.0 {
            let way = body_way(distributor.rotation, assembly.body_turn_deg);
            parts.push(format!(
                "the body stands turned {} {way}",
                degrees(assembly.body_turn_deg.abs())
            ));
        }
    }
    match parts.split_last() {
        None => "Everything is as drawn.".into(),
        Some((last, [])) => format!("{}.", capitalised(last)),
        Some((last, before)) => format!("{}, and {last}.", capitalised(&before.join(", "))),
    }
}

fn drive(distributor: &Distributor, drive_teeth: i32) -> Option<String> {
    let half = drive_teeth.unsigned_abs() * 2 == distributor.driven_teeth;
    let way = if drive_teeth > 0 { "ahead" } else { "behind" };
    let out = teeth(drive_teeth);
    match distributor.coupling {
        _ if drive_teeth == 0 => None,
        Coupling::CentralTongue if half => {
            Some("the distributor's tongue went home half a turn out".into())
        }
        _ if half => Some(format!("the distributor drive is half a turn out ({out})")),
        _ => Some(format!("the distributor drive is {out} {way}")),
    }
}

fn leads(fault: LeadsFault, towers_on_the_cap: usize) -> Option<String> {
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
        LeadsFault::Mixed(_) => Some("the leads are mixed up".into()),
    }
}
