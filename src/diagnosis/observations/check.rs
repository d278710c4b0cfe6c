//! What cannot have been seen on this engine: each a finding with its place in the file, all at
//! once.

use std::collections::HashMap;
use std::ops::RangeInclusive;

use super::fields;
use super::{CamTeethOff, Light, Observation, Observations, ValveState};
use crate::angle::{wrap, wrap_signed};
use crate::description::Valve;
use crate::description::fields::Kind;
use crate::description::walk::{Item, Place, Walk};
use crate::diagnosis::stage::Sight;
use crate::engine::Engine;
use crate::source::{Fault, Finding, faults};
use crate::words::{degrees, list, number};

faults! {
    /// What cannot have been seen, and what does not fit together.
    enum ObservationFault {
        OutOfRange, NotANumber, TooMany, NothingSeen, NoSuchCylinder, NoDistributor, NoSlot,
        LeadsAreNotTheCylinders, ValveBothWays, FeltThroughAnOpenValve, RotorHow, TeethDisagree,
        SparksDisagree, NoSuchCamshaft, NotInSight,
    }
}

/// Everything found.
pub fn findings(seen: &Observations, engine: &Engine) -> Vec<Finding> {
    // A list that is too long says nothing item by item.
    let too_many = too_many(seen);
    if !too_many.is_empty() {
        return too_many;
    }
    let mut findings = Vec::new();
    findings.extend(not_this_format(seen));
    findings.extend(none_at_all(seen));
    findings.extend(out_of_range(seen, engine));
    findings.extend(not_on_this_engine(seen, engine));
    findings.extend(leads_are_not_the_cylinders(seen, engine));
    for (i, sighting) in seen.sightings.iter().enumerate() {
        findings.extend(valve_both_ways(i, sighting));
        findings.extend(felt_through_an_open_valve(i, sighting));
        findings.extend(rotor_by_clock_or_tower(i, sighting));
        findings.extend(nothing_seen(i, sighting));
        findings.extend(not_in_sight(i, sighting));
    }
    findings.extend(no_such_camshaft(seen, engine));
    findings.extend(disagree(seen, engine));
    findings
}

fn not_this_format(seen: &Observations) -> Option<Finding> {
    (seen.format != 1).then(|| {
        Finding::error(ObservationFault::OutOfRange, "format")
            .message(format!(
                "`format` is {}; 1 is the only one so far",
                seen.format
            ))
            .why("another version may mean other things by the same words")
            .fix("write 1")
    })
}

fn none_at_all(seen: &Observations) -> Option<Finding> {
    seen.sightings.is_empty().then(|| {
        Finding::error(ObservationFault::NothingSeen, "sightings")
            .message("the list of sightings is empty")
            .why("without anything seen, every way of putting the engine together is as good as another")
            .fix("bring the crank to a mark and write down what the valves and the rotor do there")
    })
}

/// Lists longer than what can be seen on any engine, or tried at once.
fn too_many(seen: &Observations) -> Vec<Finding> {
    /// More findings than this say nothing new.
    const MOST_SHOWN: usize = 24;
    let mut findings = Vec::new();
    seen.walk(&mut Place::default(), &mut |place, item| {
        if let Item::List(count) = item
            && let Some(Kind::List { most, called, .. }) =
                fields::field(&place.path).map(|field| field.kind)
            && count > most
            && findings.len() < MOST_SHOWN
        {
            findings.push(
                Finding::error(ObservationFault::TooMany, place.written.as_str())
                    .message(format!("{count} {called}; at most {most} are allowed"))
                    .why("more than that cannot be tried at once")
                    .fix(format!("leave {most}")),
            );
        }
    });
    findings
}

/// A sighting with nothing in it but a crank mark.
fn nothing_seen(i: usize, sighting: &Observation) -> Option<Finding> {
    sighting.is_empty().then(|| {
        Finding::warning(ObservationFault::NothingSeen, format!("sightings[{i}]"))
            .message("nothing but a crank mark was seen here")
            .why("the crank can always be brought to any mark, so it tells nothing")
            .fix("add what a valve or the rotor does here, or take it out")
    })
}

/// What cannot be seen or reached at the stage that the sighting says.
fn not_in_sight(i: usize, sighting: &Observation) -> Vec<Finding> {
    let Some(stage) = sighting.stage else {
        return Vec::new();
    };
    let light = sighting.spark.map(|spark| match spark.by {
        Light::Lamp => (Sight::Lamp, "spark", "a lamp over the points"),
        Light::Strobe => (Sight::Strobe, "spark", "a timing light"),
    });
    let seen = [
        (!sighting.compression_felt.is_empty()).then_some((
            Sight::Thumb,
            "compression_felt",
            "a thumb over a plug hole",
        )),
        sighting
            .cam_teeth_off
            .is_some()
            .then_some((Sight::Dots, "cam_teeth_off", "the cam's dot")),
        light,
    ];
    let hidden = seen
        .into_iter()
        .flatten()
        .filter(|(sight, ..)| !stage.sights().contains(sight));
    hidden
        .map(|(sight, field, what)| {
            let when = stage.nearest_with(sight).map_or(String::new(), |other| {
                format!("it can be had {}; ", other.phrase())
            });
            Finding::error(
                ObservationFault::NotInSight,
                format!("sightings[{i}].{field}"),
            )
            .message(format!("{what} cannot be had {}", stage.phrase()))
            .why("what a sighting holds was seen at one place of the crank, at one stage")
            .fix(format!(
                "{when}write that as `stage`, leave `stage` out, or take this out"
            ))
        })
        .collect()
}

fn out_of_range(seen: &Observations, engine: &Engine) -> Vec<Finding> {
    let mut findings = Vec::new();
    seen.walk(&mut Place::default(), &mut |place, item| {
        if let Item::Number(value) = item
            && let Some(field) = fields::field(&place.path)
            && field.range().is_some()
            && field.path != "format"
        {
            let range = fields::range_of(field.path, engine);
            findings.extend(number_out_of_range(
                &place.written,
                value,
                &range,
                field.what,
            ));
        }
    });
    findings
}

fn number_out_of_range(
    place: &str,
    value: f64,
    range: &RangeInclusive<f64>,
    what: &str,
) -> Option<Finding> {
    if range.contains(&value) {
        return None;
    }
    let name = place.rsplit('.').next().unwrap_or(place);
    let finite = value.is_finite();
    let allowed = format!(
        "{} to {}",
        number(*range.start(), 1),
        number(*range.end(), 1)
    );
    let fault = if finite {
        ObservationFault::OutOfRange
    } else {
        ObservationFault::NotANumber
    };
    Some(
        Finding::error(fault, place)
            .message(format!(
                "`{name}` is {}; {allowed} is allowed",
                number(value, 3)
            ))
            .why(format!("it is {what}"))
            .fix(if name == "crank" && finite {
                format!(
                    "as a place of the crank that is {}",
                    degrees(wrap(value, 360.0))
                )
            } else {
                format!("give {what}: {allowed}")
            }),
    )
}

/// Cylinders, towers, leads or a distributor that are not on this engine.
fn not_on_this_engine(seen: &Observations, engine: &Engine) -> Vec<Finding> {
    let count = engine.cylinder_count();
    let distributor = engine.metric().distributor.is_some();
    let mut findings = Vec::new();
    let mut number = |place: String, cylinder: u32, what: &str| {
        if cylinder == 0 || cylinder as usize > count {
            findings.push(
                Finding::error(ObservationFault::NoSuchCylinder, place)
                    .message(format!(
                        "{what} No. {cylinder}; this engine has {count}, numbered 1 to {count}"
                    ))
                    .why("what is not there cannot have been seen")
                    .fix("give the number that is on the engine"),
            );
        }
    };
    for (i, sighting) in seen.sightings.iter().enumerate() {
        for (j, valve) in sighting.valves.iter().enumerate() {
            number(
                format!("sightings[{i}].valves[{j}].cylinder"),
                valve.cylinder,
                "a valve of",
            );
        }
        for (j, &felt) in sighting.compression_felt.iter().enumerate() {
            number(
                format!("sightings[{i}].compression_felt[{j}]"),
                felt,
                "compression in",
            );
        }
        if let Some(tower) = sighting.rotor.and_then(|rotor| rotor.tower) {
            number(format!("sightings[{i}].rotor.tower"), tower, "the tower of");
        }
        if let Some(spark) = &sighting.spark {
            number(
                format!("sightings[{i}].spark.cylinder"),
                spark.cylinder,
                "the plug of",
            );
        }
    }
    let slot_known = engine
        .metric()
        .distributor
        .as_ref()
        .is_some_and(|distributor| {
            distributor.is_on_geared_shaft() && distributor.slot_at.is_some()
        });
    if !slot_known {
        let slots = seen.sightings.iter().enumerate();
        let slots = slots.filter(|(_, sighting)| sighting.slot.is_some());
        findings.extend(slots.map(|(i, _)| {
            Finding::error(ObservationFault::NoSlot, format!("sightings[{i}].slot"))
                .message("this engine's description knows no slot")
                .why("only with `shaft: Geared` and `slot_at` is it known where the slot should stand")
                .fix("take this out, or describe where the slot stands at No. 1's firing TDC")
        }));
    }
    if !distributor {
        let rotors = seen
            .sightings
            .iter()
            .enumerate()
            .filter(|(_, sighting)| sighting.rotor.is_some());
        let mut places: Vec<String> = rotors
            .map(|(i, _)| format!("sightings[{i}].rotor"))
            .collect();
        if engine.coils().is_empty() {
            places.extend(seen.leads.iter().map(|_| "leads".to_owned()));
        }
        places.extend((seen.body_turn != 0.0).then(|| "body_turn".to_owned()));
        findings.extend(places.into_iter().map(|place| {
            Finding::error(ObservationFault::NoDistributor, place)
                .message("this engine has no distributor")
                .why("its description has none, so it has no rotor, no leads in a cap and no body to turn")
                .fix("take this out, or describe the distributor")
        }));
    }
    findings
}

/// Leads that do not name each cylinder once.
fn leads_are_not_the_cylinders(seen: &Observations, engine: &Engine) -> Option<Finding> {
    let leads = seen.leads.as_ref()?;
    let mut given = leads.clone();
    given.sort_unstable();
    let wanted: Vec<u32> = (1..=engine.cylinder_count() as u32).collect();
    (given != wanted && engine.has_leads()).then(|| {
        let order: Vec<u32> = engine
            .lead_order()
            .iter()
            .map(|&number| u32::from(number))
            .collect();
        Finding::error(ObservationFault::LeadsAreNotTheCylinders, "leads")
            .message(format!(
                "leads {} do not name each of the {} cylinders once",
                list(leads),
                wanted.len()
            ))
            .why(if engine.coils().is_empty() {
                "each tower holds one lead and each plug has one"
            } else {
                "each terminal of a coil holds one lead and each plug has one"
            })
            .fix(format!(
                "as drawn they go {}, {}",
                list(&order),
                if engine.coils().is_empty() {
                    "from No. 1's tower in the rotor's direction"
                } else {
                    "at the coils' terminals, one coil after another"
                }
            ))
    })
}

/// A valve seen both open and closed without the crank moving.
fn valve_both_ways(i: usize, sighting: &Observation) -> Vec<Finding> {
    let mut first: HashMap<(u32, Valve), ValveState> = HashMap::new();
    let mut findings = Vec::new();
    for (j, valve) in sighting.valves.iter().enumerate() {
        let state = *first
            .entry((valve.cylinder, valve.valve))
            .or_insert(valve.is);
        if state != valve.is {
            findings.push(
                Finding::error(ObservationFault::ValveBothWays, format!("sightings[{i}].valves[{j}]"))
                    .message(format!(
                        "the {} valve of No. {} is {} here and {} above, at the same crank mark",
                        valve.valve.word(),
                        valve.cylinder,
                        valve.is.word(),
                        state.word()
                    ))
                    .why("without the crank moving it is one or the other")
                    .fix("take out the one that is wrong; what was seen on the other turn of the crank is a sighting of its own"),
            );
        }
    }
    findings
}

/// Compression felt in a cylinder with a valve seen open.
fn felt_through_an_open_valve(i: usize, sighting: &Observation) -> Vec<Finding> {
    let open = |cylinder: u32| {
        sighting
            .valves
            .iter()
            .find(|valve| valve.cylinder == cylinder && valve.is == ValveState::Open)
    };
    let felt = sighting.compression_felt.iter().enumerate();
    felt.filter_map(|(j, &cylinder)| open(cylinder).map(|valve| (j, valve)))
        .map(|(j, valve)| {
            Finding::warning(ObservationFault::FeltThroughAnOpenValve, format!("sightings[{i}].compression_felt[{j}]"))
                .message(format!("compression was felt in No. {}, whose {} valve was seen open", valve.cylinder, valve.valve.word()))
                .why("an open valve lets it out: both hold only within a few degrees of that valve's closing")
                .fix("look again at the valve, and feel again")
        })
        .collect()
}

/// A rotor by neither clock nor tower, or by both.
fn rotor_by_clock_or_tower(i: usize, sighting: &Observation) -> Option<Finding> {
    let rotor = sighting.rotor.as_ref()?;
    let message = match (rotor.clock, rotor.tower) {
        (Some(_), Some(_)) => "the rotor is given both by the clock and by a tower",
        (None, None) => "the rotor is given neither by the clock nor by a tower",
        _ => return None,
    };
    Some(
        Finding::error(ObservationFault::RotorHow, format!("sightings[{i}].rotor"))
            .message(message)
            .why("it was seen at one place, said in one way")
            .fix("write `rotor: (clock: 72.0)` or `rotor: (tower: 3)`"),
    )
}

/// Teeth counted at the dot of a camshaft that the engine has not, or twice at one's.
fn no_such_camshaft(seen: &Observations, engine: &Engine) -> Vec<Finding> {
    let names: Vec<&str> = engine.camshaft_names().collect();
    let mut findings = Vec::new();
    for (i, sighting) in seen.sightings.iter().enumerate() {
        let Some(CamTeethOff::Named(counted)) = &sighting.cam_teeth_off else {
            continue;
        };
        let mut found: Vec<usize> = Vec::new();
        for name in counted.keys() {
            let camshaft = engine.camshaft_named(name);
            let message = match camshaft {
                Some(camshaft) if !found.contains(&camshaft) => {
                    found.push(camshaft);
                    continue;
                }
                Some(camshaft) => format!(
                    "the dot of the {} is counted twice here",
                    engine.camshaft_name(camshaft)
                ),
                None => format!("no one camshaft of this engine is called `{name}`, or begins so"),
            };
            let place = format!("sightings[{i}].cam_teeth_off");
            findings.push(
                Finding::error(ObservationFault::NoSuchCamshaft, place)
                    .message(message)
                    .why("teeth are counted at one camshaft's dot")
                    .fix(format!("it has: {}", list(&names))),
            );
        }
    }
    findings
}

/// Observations of what does not change as the crank turns (cam teeth counted, a plug's spark) that
/// disagree.
fn disagree(seen: &Observations, engine: &Engine) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut teeth: HashMap<usize, (usize, i32)> = HashMap::new();
    let mut sparks: HashMap<u32, (usize, f64, f64)> = HashMap::new();
    for (i, sighting) in seen.sightings.iter().enumerate() {
        let counted = sighting.cam_teeth_off.as_ref();
        for (camshaft, off) in counted.map_or_else(Vec::new, |counted| counted.counted(engine)) {
            let (first, earlier) = *teeth.entry(camshaft).or_insert((i, off));
            let dot = if engine.has_several_camshafts() {
                format!("the {}'s dot", engine.camshaft_name(camshaft))
            } else {
                "the cam's dot".to_owned()
            };
            if earlier != off {
                findings.push(
                    Finding::warning(
                        ObservationFault::TeethDisagree,
                        format!("sightings[{i}].cam_teeth_off"),
                    )
                    .message(format!(
                        "{dot} is {off} teeth off here and {earlier} in sighting {}",
                        first + 1
                    ))
                    .why("the teeth do not move in mesh, so one of them was miscounted")
                    .fix("bring the marks together and count again"),
                );
            }
        }
        if let Some(spark) = &sighting.spark {
            let (first, btdc, within) =
                *sparks
                    .entry(spark.cylinder)
                    .or_insert((i, spark.btdc, spark.within));
            if wrap_signed(btdc - spark.btdc, 360.0).abs() > within + spark.within {
                findings.push(
                    Finding::warning(ObservationFault::SparksDisagree, format!("sightings[{i}].spark"))
                        .message(format!(
                            "the spark of No. {} comes {} before TDC here and {} in sighting {}",
                            spark.cylinder,
                            degrees(spark.btdc),
                            degrees(btdc),
                            first + 1
                        ))
                        .why("with the weights and the capsule at rest it comes at one place")
                        .fix("read it again below the speed at which the weights move, the vacuum pipe off"),
                );
            }
        }
    }
    findings
}
