//! What would put a wrong assembly right, in order of least work.
//!
//! Sparks come right by any of: the body turned in its clamp; the leads moved round and the body
//! turned the rest; the drive lifted out and seated again. One tooth of the drive and a turn of the
//! body cancel exactly, so long as the clamp reaches. A camshaft out of mesh comes right by nothing
//! but the front cover off.

use super::hypotheses::{LeadsFault, leads_of, moved_round};
use crate::angle::wrap_signed;
use crate::description::{Coupling, Distributor, DriveKind, DrivenBy};
use crate::engine::{Assembly, Engine};
use crate::laws::{gear_train, ignition};
use crate::words::{body_way, capitalised, degrees, number, teeth, towers};

/// Sparks this near, in crank degrees, are one: a timing light on a pulley reads no finer. Common
/// practice, no source.
pub(super) const SPARK_RIGHT_WITHIN_DEG: f64 = 2.0;
/// A body is not turned for less: half of that, seen on the rotor.
pub(super) const BODY_RIGHT_WITHIN_DEG: f64 = SPARK_RIGHT_WITHIN_DEG / 2.0;
/// A clamp whose range is not given is taken to reach about so far. Common practice, no source.
const USUAL_RANGE_DEG: f64 = 15.0;

/// Where the body would have to stand for every spark to come as drawn, in rotor degrees against
/// the rotor's rotation.
///
/// None where no turn of the body makes all of them right: leads changed over, or moved round on an
/// engine that fires unevenly.
pub fn correcting_body_turn(engine: &Engine, assembly: &Assembly) -> Option<f64> {
    engine.metric().distributor.as_ref()?;
    let order = engine.firing_order();
    let fires = engine.firing_angles();
    let leads = leads_of(engine, assembly);
    let teeth_out = ignition::teeth_out(engine.metric(), assembly.cam_teeth, assembly.drive_teeth);
    let mut wanted = None;
    for (own, number) in order.iter().enumerate() {
        let tower = leads.iter().position(|lead| lead == number)?;
        let body = ignition::body_turn_for(fires[own], fires[tower], teeth_out).degrees();
        let first = *wanted.get_or_insert(body);
        if wrap_signed(body - first, 360.0).abs() > BODY_RIGHT_WITHIN_DEG {
            return None;
        }
    }
    wanted
}

/// Whether the clamp lets the body stand so far from where it is drawn; None where its range is not
/// given.
pub fn within_clamp(distributor: &Distributor, body_turn_deg: f64) -> Option<bool> {
    distributor
        .body_range
        .map(|range| body_turn_deg.abs() <= range + 1e-9)
}

/// What would put it right, a line each, least work first. Empty where everything is as drawn.
///
/// A line that begins with `or` is another way of doing what the lines before it do; one that
/// begins with `then` comes after.
pub fn lines(engine: &Engine, assembly: &Assembly) -> Vec<String> {
    let mut lines = Vec::new();
    let mut rest = assembly.clone();
    if assembly.cam_teeth != 0 {
        lines.push(cam_line(engine, assembly));
        rest.cam_teeth = 0;
    }
    let Some(distributor) = &engine.metric().distributor else {
        return lines;
    };
    let ways = spark_ways(engine, distributor, &rest);
    let after_the_cam = !lines.is_empty();
    for (index, way) in ways.into_iter().enumerate() {
        lines.push(match (index, after_the_cam) {
            (0, false) => capitalised(&way),
            (0, true) => format!("then {way}"),
            _ => format!("or {way}"),
        });
    }
    lines
}

fn cam_line(engine: &Engine, assembly: &Assembly) -> String {
    let drive = &engine.metric().cam_drive;
    let out = assembly.cam_teeth;
    let way = if out > 0 { "back" } else { "on" };
    let cam = gear_train::cam_ahead(drive, out).degrees().abs();
    let at = drive.marks_meet_at;
    let place = match at {
        0.0 => "No. 1's firing TDC".to_owned(),
        at if at > 0.0 => format!("{} after No. 1's firing TDC", degrees(at)),
        at => format!("{} before No. 1's firing TDC", degrees(-at)),
    };
    let slip = match drive.kind {
        DriveKind::Gears => "slide the cam gear out of mesh",
        DriveKind::Chain => "slacken the chain and slip it off the cam wheel",
        DriveKind::Belt => "slacken the belt and slip it off the cam wheel",
    };
    let rotor = match &engine.metric().distributor {
        Some(distributor)
            if distributor.driven_by == DrivenBy::Camshaft && assembly.drive_teeth == 0 =>
        {
            "; the rotor, driven by the camshaft, comes with it"
        }
        Some(distributor) if distributor.driven_by == DrivenBy::Camshaft => {
            "; the rotor moves with it as far as the camshaft does"
        }
        _ => "",
    };
    format!(
        "Take the front cover off, stand the crank at {place}, {slip} and put the wheel {} {way} ({} of the cam, {} of the crank), \
         until the marks meet{rotor}",
        teeth(out),
        degrees(cam),
        degrees(2.0 * cam)
    )
}

/// The ways of bringing the sparks right with the camshaft as drawn, least work first.
fn spark_ways(engine: &Engine, distributor: &Distributor, assembly: &Assembly) -> Vec<String> {
    let order = engine.firing_order();
    let leads = leads_of(engine, assembly);
    let leads_fault = LeadsFault::of(order, leads);
    if assembly.drive_teeth == 0 && leads_fault == LeadsFault::AsDrawn {
        return match assembly.body_turn_deg {
            body if body.abs() < BODY_RIGHT_WITHIN_DEG => Vec::new(),
            body => {
                vec![format!(
                    "slacken the clamp and {}",
                    turn_the_body(distributor, body, 0.0)
                )]
            }
        };
    }
    let now = assembly.body_turn_deg;
    let mut ways = Vec::new();
    let mut beyond = Vec::new();
    // The body alone, the leads as they are.
    if let Some(body) = correcting_body_turn(engine, assembly) {
        if (body - now).abs() < BODY_RIGHT_WITHIN_DEG {
            ways.push(format!(
                "leave it: the body, turned {} {}, brings every spark where it is drawn",
                degrees(now.abs()),
                body_way(distributor.rotation, now)
            ));
        } else if reaches(distributor, body) {
            ways.push(format!(
                "slacken the clamp and {}{}",
                turn_the_body(distributor, now, body),
                unknown_range(distributor)
            ));
        } else {
            beyond.push(format!(
                "{}, beyond {}",
                turn_the_body(distributor, now, body),
                clamp(distributor)
            ));
        }
    }
    // The leads moved, and the body the rest.
    if let Some((moved, body)) = leads_and_body(engine, distributor, assembly) {
        let lead_work = move_the_leads(order, leads, moved);
        let turn = if (body - now).abs() < BODY_RIGHT_WITHIN_DEG {
            String::new()
        } else {
            format!(
                ", and {}{}",
                turn_the_body(distributor, now, body),
                unknown_range(distributor)
            )
        };
        ways.push(format!("{lead_work}{turn}"));
    }
    if assembly.drive_teeth != 0 {
        ways.push(lift_the_drive(engine, distributor, assembly, leads_fault));
    }
    ways.extend(beyond);
    ways
}

/// How far round the leads would have to go, from as drawn, and where the body would then have to
/// stand; only what the clamp allows, the least turn of the body first. None where the leads stand
/// best as they are.
fn leads_and_body(
    engine: &Engine,
    distributor: &Distributor,
    assembly: &Assembly,
) -> Option<(i32, f64)> {
    let order = engine.firing_order();
    let count = order.len() as i32;
    let now = leads_of(engine, assembly);
    let tried = (0..count).filter_map(|moved| {
        let moved = if moved * 2 > count {
            moved - count
        } else {
            moved
        };
        let leads = moved_round(order, moved);
        if leads == now {
            return None;
        }
        let other = Assembly {
            leads: Some(leads),
            ..assembly.clone()
        };
        correcting_body_turn(engine, &other).map(|body| (moved, body))
    });
    tried
        .filter(|(_, body)| reaches(distributor, *body))
        .min_by(|one, other| {
            (one.1.abs(), one.0.abs())
                .partial_cmp(&(other.1.abs(), other.0.abs()))
                .unwrap_or(std::cmp::Ordering::Equal)
        })
}

/// What to do about a body that stands `turn_deg` on, against the rotor's rotation, from where the
/// sightings have it.
pub(super) fn body_that_stands_elsewhere(engine: &Engine, turn_deg: f64) -> String {
    let Some(distributor) = &engine.metric().distributor else {
        return String::new();
    };
    format!(
        "If the body stands {}° {} from where it was taken to stand, that alone explains the sparks: slacken the clamp and {}",
        number(turn_deg.abs(), 1),
        body_way(distributor.rotation, turn_deg),
        turn_the_body(distributor, turn_deg, 0.0)
    )
}

pub(super) fn reaches(distributor: &Distributor, body_turn_deg: f64) -> bool {
    within_clamp(distributor, body_turn_deg).unwrap_or(body_turn_deg.abs() <= USUAL_RANGE_DEG)
}

fn unknown_range(distributor: &Distributor) -> &'static str {
    if distributor.body_range.is_none() {
        ", if the clamp lets it"
    } else {
        ""
    }
}

fn clamp(distributor: &Distributor) -> String {
    match distributor.body_range {
        Some(range) => format!("the clamp's {}", degrees(range)),
        None => "what most clamps allow".into(),
    }
}

/// `turn the body 27.7° anticlockwise, against the rotor's rotation`.
fn turn_the_body(distributor: &Distributor, from_deg: f64, to_deg: f64) -> String {
    let turn = to_deg - from_deg;
    format!(
        "turn the body {}° {}",
        number(turn.abs(), 1),
        body_way(distributor.rotation, turn)
    )
}

/// What brings the leads from as they are to moved round by `moved`.
fn move_the_leads(order: &[u8], leads: &[u8], moved: i32) -> String {
    let wanted = moved_round(order, moved);
    let list = |leads: &[u8]| {
        leads
            .iter()
            .map(u8::to_string)
            .collect::<Vec<_>>()
            .join("-")
    };
    match LeadsFault::of(&wanted, leads) {
        LeadsFault::ChangedOver(one, other) => {
            format!("change over the leads of No. {one} and No. {other}")
        }
        LeadsFault::MovedRound(out) => {
            let way = if out > 0 {
                "back, against the rotor's direction"
            } else {
                "on, in the rotor's direction"
            };
            format!(
                "move every lead {} {way}: {} from No. 1's tower",
                towers(out),
                list(&wanted)
            )
        }
        _ => {
            format!(
                "plug the leads {} from No. 1's tower in the rotor's direction",
                list(&wanted)
            )
        }
    }
}

/// The drive lifted out and seated again, and whatever else is not as drawn put back.
fn lift_the_drive(
    engine: &Engine,
    distributor: &Distributor,
    assembly: &Assembly,
    leads_fault: LeadsFault,
) -> String {
    let out = assembly.drive_teeth;
    let way = if out > 0 { "back" } else { "ahead" };
    let rotor = ignition::rotor_tooth(distributor).degrees() * f64::from(out.unsigned_abs());
    let mut line = match distributor.coupling {
        Coupling::CentralTongue => {
            format!(
                "lift the distributor, turn its rotor half a turn and let the tongue find its slot ({}°)",
                number(rotor, 1)
            )
        }
        _ => format!(
            "lift the drive and drop it {} {way} ({}° of rotor)",
            teeth(out),
            number(rotor, 1)
        ),
    };
    if leads_fault != LeadsFault::AsDrawn {
        let (order, leads) = (engine.firing_order(), leads_of(engine, assembly));
        line += &format!(", and {}", move_the_leads(order, leads, 0));
    }
    if assembly.body_turn_deg.abs() >= BODY_RIGHT_WITHIN_DEG {
        line += &format!(
            ", and {}",
            turn_the_body(distributor, assembly.body_turn_deg, 0.0)
        );
    }
    line
}
