//! `dotwise dropin`: how to drop the distributor in, and how to know firing TDC from overlap.

use super::answer::{Answer, Error, Terminal};
use super::input::EngineArg;
use crate::angle::Direction;
use crate::description::Coupling;
use crate::diagnosis::{Revolution, fault};
use crate::output::terminal::{TerminalStyle, TextWriter};
use crate::phasing::Phasing;
use crate::procedures::dropin::{DropIn, OtherWay, Witness, dropin};
use crate::words::{ahead, body_way, capitalised, clockwise, degrees, number, past, teeth};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    engine: EngineArg,
    /// One JSON document instead of text.
    #[arg(long)]
    json: bool,
}

impl Args {
    pub(super) fn run(&self, terminal: Terminal) -> Result<Answer, Error> {
        let phasing = self.engine.phasing(terminal)?;
        let Some(found) = dropin(&phasing) else {
            return Err(Error::line(
                format!("{} has no distributor to drop in", phasing.engine().name()),
                "describe it under `distributor`; `dotwise scenes bench_four` shows how",
            ));
        };
        let answer = if self.json {
            Answer::json(&found)?
        } else {
            Answer::text(text(&phasing, &found, terminal.out))
        };
        Ok(answer.not_right(!found.agreed))
    }
}

/// The numbered steps of a text.
struct Steps {
    out: TextWriter,
    count: usize,
}

impl Steps {
    fn step(&mut self, text: impl AsRef<str>) {
        self.count += 1;
        self.out.line("");
        self.out.hanging(text, &format!("{}. ", self.count), "   ");
    }
}

fn text(phasing: &Phasing, found: &DropIn, style: TerminalStyle) -> String {
    let engine = phasing.engine();
    let distributor = engine.metric().distributor.as_ref();
    let rotation = distributor.map_or(Direction::Clockwise, |distributor| distributor.rotation);
    let mut out = TextWriter::new(style);
    out.headline(format!("{}: dropping the distributor in", engine.name()));
    out.faint("Clock degrees on the cap run clockwise, looking down on it.");
    let mut steps = Steps { out, count: 0 };
    steps.step(
        "Turn the crank forwards to No. 1's firing TDC. If you pass the mark, back off well past it and come up to it again, so that \
         slack lies where it runs. The crank's own mark cannot tell firing from overlap; these can:",
    );
    for Witness {
        name,
        firing,
        overlap,
        ..
    } in &found.witnesses
    {
        let rest = " ".repeat(16);
        let out = &mut steps.out;
        out.hanging(capitalised(name), "   - ", "     ");
        out.hanging(firing, "       firing:  ", &rest);
        out.hanging(overlap, "       overlap: ", &rest);
    }
    steps.out.line("");
    steps.out.hanging(agreement(phasing, found), "   ", "   ");
    steps.step(point_the_rotor(found, rotation));
    steps.step(match found.coupling {
        Coupling::Gear => format!(
            "One tooth of the drive is {}° of rotor, {}° of crank. If it ends a tooth away, lift it and try again. What it would take to \
             live with it:",
            number(found.degrees_per_tooth, 1),
            number(2.0 * found.degrees_per_tooth, 1)
        ),
        Coupling::OffsetTongue => {
            "The tongue is off its centre: it goes home one way only. If it does not drop, do not force it: turn the \
             rotor till it does."
                .to_owned()
        }
        Coupling::CentralTongue => {
            "The tongue is central: it goes home two ways, half a turn apart, and only one has the rotor by No. 1's \
             lead. The other:"
                .to_owned()
        }
    });
    let clamp = distributor.and_then(|distributor| distributor.body_range);
    for way in &found.teeth {
        let way = other_way(way, rotation, found.coupling, clamp);
        steps.out.hanging(way, "   - ", "     ");
    }
    let leads: Vec<String> = found
        .leads
        .iter()
        .map(|lead| {
            let tower = number(lead.tower.degrees(), 1);
            format!("No. {} at {tower}°", lead.cylinder)
        })
        .collect();
    steps.step(format!(
        "Leads, {} round the cap: {}.",
        rotation.word(),
        leads.join(", ")
    ));
    steps.step(
        "Before the case is closed, turn the crank two full turns by hand, forwards, back to the mark, and look at all of it once more.",
    );
    steps.out.turning_caution();
    steps.out.finish()
}

/// Where the rotor must point before the drive is installed, and where it ends.
fn point_the_rotor(found: &DropIn, rotation: Direction) -> String {
    let tower = found.leads.first().map(|lead| lead.tower);
    let off = tower.map_or(0.0, |tower| found.rotor_end.past(tower, rotation));
    let place = if off.abs() < 0.05 {
        "on".to_owned()
    } else {
        past(off, 1)
    };
    let end = format!(
        "{}°, {place} No. 1's tower",
        number(found.rotor_end.degrees(), 1)
    );
    if found.turns_on_entry_deg == 0.0 {
        return format!(
            "Point the rotor at {end}, and let the drive down: it does not turn on the way."
        );
    }
    format!(
        "Before letting the drive down, point the rotor at {}°. On the way home it turns {}° {}, and must end at {end}.",
        number(found.rotor_start.degrees(), 1),
        number(found.turns_on_entry_deg.abs(), 1),
        clockwise(found.turns_on_entry_deg)
    )
}

/// Whether the witnesses agree, as built.
fn agreement(phasing: &Phasing, found: &DropIn) -> String {
    let telling = found.telling;
    if found.agreed {
        return format!(
            "On this engine {telling} of these tell the two apart. Take at least three, the rotor when it is in; all that tell must say firing."
        );
    }
    let against: Vec<String> = found
        .witnesses
        .iter()
        .filter(|witness| witness.tells && witness.revolution != Some(Revolution::Firing))
        .map(|witness| format!("{} shows {}", witness.name, witness.now))
        .collect();
    format!(
        "As built they do not agree, the crank at No. 1's firing TDC: {}. {} Put that right first.",
        against.join("; "),
        fault::describe(phasing.engine(), phasing.assembly())
    )
}

fn other_way(
    way: &OtherWay,
    rotation: Direction,
    coupling: Coupling,
    clamp: Option<f64>,
) -> String {
    let where_to = match coupling {
        Coupling::CentralTongue => "half a turn out".to_owned(),
        _ => format!("{} {}", teeth(way.drive_teeth), ahead(way.drive_teeth > 0)),
    };
    let clamp = match (way.within_clamp, clamp) {
        (Some(true), Some(range)) => format!("; the clamp's {} allow it", degrees(range)),
        (_, Some(range)) => {
            format!(
                "; the clamp's {} do not allow it, so lift it again",
                degrees(range)
            )
        }
        _ => ", if the clamp lets it".into(),
    };
    format!(
        "{where_to}: it would take the body {}° {}{clamp}",
        number(way.body_turn_deg.abs(), 1),
        body_way(rotation, way.body_turn_deg)
    )
}
