//! What would put a wrong assembly right, in the order of the bench.
//!
//! Sparks come right by any of: the drive lifted out and seated again; the body turned in its
//! clamp; the leads moved round and the body turned the rest. While the engine is being built the
//! drive is lifted, which leaves everything as it is drawn; with everything closed that is the most
//! work, and comes last. A turn of the body that uses up the clamp, or goes beyond it, comes after
//! all others: the ignition is set by that clamp. One tooth of the drive and a turn of the body
//! cancel exactly, so long as the clamp reaches. A camshaft out of mesh comes right by nothing but
//! its drive laid open, with the crank standing where no valve is in the way
//! ([`wheel_move`]).

#![expect(
    clippy::indexing_slicing,
    reason = "indices count the towers of one cap"
)]

use super::hypotheses::{LeadsFault, leads_of, moved_round};
use super::stage::Stage;
use crate::angle::wrap_signed;
use crate::description::{Case, Coupling, Distributor, DriveKind};
use crate::engine::{Assembly, Engine};
use crate::laws::gear_train::CamTeeth;
use crate::laws::ignition::DriveOut;
use crate::laws::{chain_run, gear_train, ignition, wheel_move};
use crate::words::{
    body_way, capitalised, cylinders, degrees, from_firing_tdc, length, number, teeth, towers,
};

/// Sparks this near, in crank degrees, are one: a timing light on a pulley reads no finer. Common
/// practice, no source.
pub(super) const SPARK_RIGHT_WITHIN_DEG: f64 = 2.0;
/// A body is not turned for less: half of that, seen on the rotor.
pub(super) const BODY_RIGHT_WITHIN_DEG: f64 = SPARK_RIGHT_WITHIN_DEG / 2.0;
/// A clamp whose range is not given is taken to reach about so far. Common practice, no source.
const USUAL_RANGE_DEG: f64 = 15.0;
/// So much of the clamp must be left either way to set the ignition with, rotor degrees; of a clamp
/// that has little, half. Common practice, no source.
const TO_SET_WITH_DEG: f64 = 5.0;

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
    let teeth_out = ignition::teeth_out(engine.metric(), assembly.cams(), assembly.drive_out());
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

/// What would put it right, a line each, in the order in which it is done at this stage. Empty
/// where everything is as drawn.
///
/// A line that begins with `or` is another way of doing what the line before it does; one that
/// begins with `then` comes after.
pub fn lines(engine: &Engine, assembly: &Assembly, stage: Stage) -> Vec<String> {
    let mut lines = Vec::new();
    let mut rest = assembly.clone();
    if !assembly.cams().are_right() {
        lines.extend(cam_lines(engine, assembly, stage));
        rest.set_cams(CamTeeth::default());
    }
    let ways = match &engine.metric().distributor {
        Some(distributor) => spark_ways(engine, distributor, &rest, stage),
        None => coil_lead_way(engine, &rest).into_iter().collect(),
    };
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

/// The camshafts put right: their drive laid open, the crank stood where no valve is in the way,
/// the wheels moved.
fn cam_lines(engine: &Engine, assembly: &Assembly, stage: Stage) -> Vec<String> {
    let mut lines = vec![laid_open(engine, stage).to_owned()];
    if stage == Stage::CaseOpen {
        let meet = from_firing_tdc(engine.metric().cam_drive.marks_meet_at());
        let out = assembly.cams().out();
        lines.extend(out.map(|(camshaft, out)| {
            format!(
                "then lift the {} with its followers clear, turn it {} {}, and lay it in again: the marks meet with the crank {meet}",
                engine.camshaft_name(camshaft),
                teeth(out),
                if out > 0 { "back" } else { "on" }
            )
        }));
        return lines;
    }
    lines.push(format!("then {}", stand_the_crank(engine, assembly.cams())));
    let last = assembly.cams().out().map(|(camshaft, _)| camshaft).last();
    lines.extend(assembly.cams().out().map(|(camshaft, out)| {
        let moved = move_the_wheel(engine, assembly, camshaft, out);
        if Some(camshaft) == last {
            let marks_meet = from_firing_tdc(engine.metric().cam_drive.marks_meet_at());
            let counted = chain_run::count_words(&engine.metric().cam_drive)
                .map_or(String::new(), |count| format!(", {count} between them"));
            format!(
                "then {moved}, and turn the crank gently back: the marks meet {marks_meet}{counted}"
            ) + rotor_with_it(engine, assembly)
        } else {
            format!("then {moved}")
        }
    }));
    lines
}

/// One camshaft's wheel moved to where it belongs.
fn move_the_wheel(engine: &Engine, assembly: &Assembly, camshaft: usize, out: i32) -> String {
    let drive = &engine.metric().cam_drive;
    let way = if out > 0 { "back" } else { "on" };
    let cam = gear_train::cam_ahead(drive, out).degrees().abs();
    let several = engine.has_several_camshafts();
    let (shaft, gear, wheel) = if several {
        let name = engine.camshaft_name(camshaft);
        (
            format!("the {name}"),
            format!("the gear of the {name}"),
            format!("the wheel of the {name}"),
        )
    } else {
        (
            "the camshaft".to_owned(),
            "the cam gear".to_owned(),
            "the cam wheel".to_owned(),
        )
    };
    let band = match drive.kind {
        DriveKind::Gears => None,
        DriveKind::Chain => Some("chain"),
        DriveKind::Belt => Some("belt"),
    };
    let slip = match band {
        None => format!("slide {gear} out of mesh"),
        Some(band) => format!(
            "hold {shaft}, which its valve springs turn as soon as it is let go, slacken the {band}, slip it off {wheel}"
        ),
    };
    let others = match band {
        Some(_) if several && assembly.cams().out().count() < engine.camshaft_count() => {
            ", every other wheel staying as it is,"
        }
        _ => "",
    };
    format!(
        "{slip} and{others} put the wheel {} {way} ({} of the cam, {} of the crank)",
        teeth(out),
        degrees(cam),
        degrees(2.0 * cam)
    )
}

/// What the rotor does as the wheels are moved, where the camshaft that drives it is among them.
fn rotor_with_it(engine: &Engine, assembly: &Assembly) -> &'static str {
    let driving = engine.metric().driving_camshaft();
    match driving {
        Some(camshaft) if assembly.cams().of(camshaft) == 0 => "",
        Some(_) if assembly.drive_teeth == 0 => {
            "; the rotor, driven by the camshaft, comes with it"
        }
        Some(_) => "; the rotor moves with it as far as the camshaft does",
        None => "",
    }
}

/// How the cam drive is laid open.
fn laid_open(engine: &Engine, stage: Stage) -> &'static str {
    match (engine.written().case, stage.is_closed()) {
        (Some(Case::Split) | None, _) if stage == Stage::CaseOpen => {
            "Do it now, before the case is closed: after that it cannot be done"
        }
        (Some(Case::Split), false) => {
            "Do it before the case is closed, or part it again: with a split case closed it cannot be done"
        }
        (Some(Case::Split), true) => {
            "Part the case again: with a split case closed it cannot be done"
        }
        (Some(Case::OneBlock), false) => "Have the front cover off",
        (Some(Case::OneBlock), true) => "Take the front cover off",
        (None, false) => {
            "Have the front cover off; of a split case, do it before the case is closed: after that it cannot be done"
        }
        (None, true) => {
            "Take the front cover off; of a split case, part the case again: closed, it cannot be done"
        }
    }
}

/// Where to stand the crank so that no valve is in the way, and what room there is.
fn stand_the_crank(engine: &Engine, cams: CamTeeth) -> String {
    let units = engine.written().units;
    let found = wheel_move::place(engine.metric(), engine.firing_angles(), cams);
    let meet = engine.metric().cam_drive.marks_meet_at();
    let to = from_firing_tdc(wrap_signed(meet + found.turn_deg, 720.0));
    let to = to.strip_prefix("at ").unwrap_or(&to);
    let place = if meet == 0.0 || found.turn_deg == 0.0 {
        to.to_owned()
    } else {
        let way = if found.turn_deg < 0.0 { "back" } else { "on" };
        let turn = degrees(found.turn_deg.abs());
        format!("{to}, {turn} {way} from where the marks belong together")
    };
    if !found.is_clear() {
        return format!(
            "slacken every rocker, or take the followers out, before the wheel is moved: no place of the crank keeps every valve \
             clear of its piston on the way ({place} there is most room, {})",
            length(found.room_mm, units)
        );
    }
    let down = length(found.pistons_down_mm, units);
    let room = match found.whole_room_mm {
        _ if found.is_barred() => {
            "; as it is a valve meets its piston on the way there: come to it from the side where the crank turns freely, never past where it stops"
                .to_owned()
        }
        Some(room_mm) => format!(
            "; on the whole way there and back no valve is nearer to its piston than {}",
            length(room_mm, units)
        ),
        None => {
            "; what room there is on the way there was not measured: turn gently, and never past where it stops"
                .to_owned()
        }
    };
    format!(
        "turn the crank to {place}, where every piston is at least {down} down and no valve can reach one{room}{}",
        if engine.has_several_camshafts() {
            "; valve against valve was not looked at: turn gently, and stop where it stops"
        } else {
            ""
        }
    )
}

/// What puts the leads on the coils right; None where they are, or where there are none.
fn coil_lead_way(engine: &Engine, assembly: &Assembly) -> Option<String> {
    if engine.coils().is_empty() {
        return None;
    }
    let leads = leads_of(engine, assembly);
    let coil = |index: usize| {
        let coil = engine.coils().get(index).map_or(&[][..], Vec::as_slice);
        cylinders(coil)
    };
    match LeadsFault::on(engine, leads) {
        LeadsFault::AsDrawn => None,
        LeadsFault::ChangedOver(one, other) => Some(format!(
            "change over the leads of No. {one} and No. {other}"
        )),
        LeadsFault::CoilsChangedOver(one, other) => Some(format!(
            "change over the leads of {} with those of {}, or the low-tension wires of the two coils",
            coil(one),
            coil(other)
        )),
        LeadsFault::MovedRound(_) | LeadsFault::Mixed(_) => {
            let all: Vec<String> = engine.coils().iter().map(|coil| cylinders(coil)).collect();
            Some(format!(
                "plug the leads coil by coil: {}; the two of one coil either way about",
                all.join("; ")
            ))
        }
    }
}

/// How much of the clamp a way of bringing the sparks right takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum OfTheClamp {
    Leaves,
    UsesUp,
    GoesBeyond,
}

/// One way of bringing the sparks right.
struct SparkWay {
    clamp: OfTheClamp,
    /// Whether the drive is lifted for it.
    lifts: bool,
    words: String,
}

/// The ways of bringing the sparks right with the camshaft as drawn, in the order in which they
/// come at this stage.
fn spark_ways(
    engine: &Engine,
    distributor: &Distributor,
    assembly: &Assembly,
    stage: Stage,
) -> Vec<String> {
    let order = engine.firing_order();
    let leads = leads_of(engine, assembly);
    let leads_fault = LeadsFault::of(order, leads);
    let drive_is_right = assembly.drive_out().simplest(distributor).is_as_drawn();
    if drive_is_right && leads_fault == LeadsFault::AsDrawn {
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
    let mut with_body = |words: String, body: f64| {
        let clamp = of_the_clamp(distributor, body);
        let words = match clamp {
            OfTheClamp::Leaves => words,
            OfTheClamp::UsesUp => format!(
                "{words}, which uses up {}: {}° of it are left to set the ignition with",
                clamp_words(distributor),
                number(range_deg(distributor) - body.abs(), 1)
            ),
            OfTheClamp::GoesBeyond => format!("{words}, beyond {}", clamp_words(distributor)),
        };
        ways.push(SparkWay {
            clamp,
            lifts: false,
            words,
        });
    };
    // The body alone, the leads as they are.
    if let Some(body) = correcting_body_turn(engine, assembly) {
        if (body - now).abs() < BODY_RIGHT_WITHIN_DEG {
            let words = format!(
                "leave it: the body, turned {} {}, brings every spark where it is drawn",
                degrees(now.abs()),
                body_way(distributor.rotation(), now)
            );
            with_body(words, now);
        } else if reaches(distributor, body) {
            let turn = turn_the_body(distributor, now, body);
            with_body(
                format!("slacken the clamp and {turn}{}", unknown_range(distributor)),
                body,
            );
        } else {
            with_body(turn_the_body(distributor, now, body), body);
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
        with_body(format!("{lead_work}{turn}"), body);
    }
    if !drive_is_right {
        ways.push(SparkWay {
            clamp: OfTheClamp::Leaves,
            lifts: true,
            words: lift_the_drive(engine, distributor, assembly, leads_fault),
        });
    }
    // Ways that come alike stay as they are, the body alone before the leads.
    ways.sort_by_key(|way| (way.clamp, way.lifts == stage.is_closed()));
    ways.into_iter().map(|way| way.words).collect()
}

/// How much of the clamp a body that stands so far from where it is drawn takes.
fn of_the_clamp(distributor: &Distributor, body_turn_deg: f64) -> OfTheClamp {
    let range_deg = range_deg(distributor);
    if !reaches(distributor, body_turn_deg) {
        OfTheClamp::GoesBeyond
    } else if body_turn_deg.abs() > range_deg - TO_SET_WITH_DEG.min(range_deg / 2.0) {
        OfTheClamp::UsesUp
    } else {
        OfTheClamp::Leaves
    }
}

/// How far the clamp lets the body turn either way.
fn range_deg(distributor: &Distributor) -> f64 {
    distributor.body_range.unwrap_or(USUAL_RANGE_DEG)
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
        body_way(distributor.rotation(), turn_deg),
        turn_the_body(distributor, turn_deg, 0.0)
    )
}

pub(super) fn reaches(distributor: &Distributor, body_turn_deg: f64) -> bool {
    within_clamp(distributor, body_turn_deg)
        .unwrap_or(body_turn_deg.abs() <= range_deg(distributor))
}

fn unknown_range(distributor: &Distributor) -> &'static str {
    if distributor.body_range.is_none() {
        ", if the clamp lets it"
    } else {
        ""
    }
}

fn clamp_words(distributor: &Distributor) -> String {
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
        body_way(distributor.rotation(), turn)
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
    let mut line = match distributor.coupling() {
        _ if distributor.is_on_geared_shaft() => put_shaft_right(distributor, assembly.drive_out()),
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

/// The tongue turned about, which only takes the distributor lifted off; and the shaft drawn and put
/// back in mesh. Where the tongue turned about leaves fewer teeth to the shaft, that way.
fn put_shaft_right(distributor: &Distributor, out: DriveOut) -> String {
    const TONGUE: &str = "lift the distributor off, turn its rotor half a turn and let the tongue find its slot (180°)";
    let simplest = out.simplest(distributor);
    let other = simplest
        .other_way(distributor)
        .filter(|other| other.teeth.abs() < simplest.teeth.abs());
    let out = other.unwrap_or(simplest);
    let shaft = |lift: &str| {
        let rotor = ignition::rotor_tooth(distributor) * f64::from(out.teeth);
        format!(
            "{lift}draw the shaft with its tool and mesh it {} {} ({}° of rotor)",
            teeth(out.teeth),
            if out.teeth > 0 { "back" } else { "ahead" },
            number(rotor.degrees().abs(), 1)
        )
    };
    match (out.half_turn, out.teeth != 0) {
        (true, false) => TONGUE.to_owned(),
        (true, true) => format!("{TONGUE}, then {}", shaft("lift it off again, ")),
        (false, _) => shaft("lift the distributor off, "),
    }
}
