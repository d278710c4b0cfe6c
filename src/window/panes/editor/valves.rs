//! The valves: their events in each of their forms, how they are set, what rides on the lobes, and the
//! room measured to the piston.

use egui::Ui;

use super::super::form::Form;
use crate::description::{
    Adjusters, Clearance, Description, EventsForm, ExhaustAlsoAt, Follower, FollowerKind,
    IntakeAlsoAt, LashAt, LiftPoint, MeasuredAt, NoEvents, Valve, ValveGear, ValveLash, Valves,
};
use crate::laws::Lobe;

pub(super) fn fields(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let mm = d.units.millimetres();
    let valves = &mut d.valves;
    events_form(ui, form, valves);
    cam_card(ui, form, valves, mm);
    intake_events(ui, form, valves, mm);
    exhaust_events(ui, form, valves, mm);
    form.optional(ui, "valves.quoted_at", &mut valves.quoted_at, 0.0);
    let measured = [
        (None, "not stated: the valve"),
        (Some(MeasuredAt::Valve), "the valve"),
        (Some(MeasuredAt::Tappet), "the tappet"),
    ];
    form.choice(ui, "valves.measured_at", &mut valves.measured_at, &measured);
    form.optional(ui, "valves.rocker_ratio", &mut valves.rocker_ratio, 1.5);
    follower(ui, form, &mut valves.follower, mm);
    valve_setting(ui, form, valves, mm);
    let gears = [
        (None, "not given"),
        (Some(ValveGear::PushRod), "push rods, cam low"),
        (Some(ValveGear::Overhead), "cam over the valves"),
    ];
    form.choice(ui, "valves.gear", &mut valves.gear, &gears);
    form.found_only(ui, "valves");
}

/// The gap that is set, and what it is set by.
fn valve_setting(ui: &mut Ui, form: &mut Form, valves: &mut Valves, mm: f64) {
    const USUAL_TURNS: f64 = 0.5;
    let turns = match valves.adjusters {
        Some(Adjusters::Hydraulic { preload_turns }) => preload_turns,
        _ => USUAL_TURNS,
    };
    let hydraulic = Adjusters::Hydraulic {
        preload_turns: turns,
    };
    let choices = [
        (None, "not stated: screws"),
        (Some(Adjusters::Screw), "screws"),
        (Some(Adjusters::Shim), "shims"),
        (Some(hydraulic), "hydraulic lifters"),
    ];
    form.choice(ui, "valves.adjusters", &mut valves.adjusters, &choices);
    if let Some(Adjusters::Hydraulic { preload_turns }) = &mut valves.adjusters {
        form.number(ui, "valves.adjusters.preload_turns", preload_turns);
    }
    let mut has = valves.lash.is_some();
    if form.whether(ui, "valves.lash", &mut has) {
        valves.lash = has.then_some(ValveLash {
            intake: 0.2 / mm,
            exhaust: 0.25 / mm,
            at: LashAt::Cold,
        });
    }
    if let Some(lash) = &mut valves.lash {
        form.number(ui, "valves.lash.intake", &mut lash.intake);
        form.number(ui, "valves.lash.exhaust", &mut lash.exhaust);
        let hot_or_cold = [(LashAt::Cold, "cold"), (LashAt::Hot, "hot")];
        form.choice(ui, "valves.lash.at", &mut lash.at, &hot_or_cold);
    }
    form.found_only(ui, "valves.lash");
}

/// In which form the events are written; another one says the same.
fn events_form(ui: &mut Ui, form: &mut Form, valves: &mut Valves) {
    let [intake, exhaust] = Valve::BOTH.map(|valve| valves.form(valve).ok());
    let now = intake.filter(|_| intake == exhaust);
    let words = |form: EventsForm| match form {
        EventsForm::Angles => "two angles each",
        EventsForm::Duration => "duration and centre each",
        EventsForm::Card => "one cam card for both",
        EventsForm::Measured => "both lobes as measured",
    };
    let can_be = EventsForm::ALL
        .into_iter()
        .filter(|form| now == Some(*form) || valves.in_form(*form).is_some());
    let mut choices: Vec<(Option<EventsForm>, &str)> =
        can_be.map(|form| (Some(form), words(form))).collect();
    match now {
        None => choices.insert(0, (None, "each in a form of its own")),
        Some(EventsForm::Measured) => {
            choices.insert(0, (now, words(EventsForm::Measured)));
        }
        Some(_) => {}
    }
    let mut chosen = now;
    form.choice(ui, "valves.card", &mut chosen, &choices);
    if chosen != now
        && let Some(other) = chosen.and_then(|form| valves.in_form(form))
    {
        *valves = other;
    }
    let is_measured = Valve::BOTH
        .into_iter()
        .any(|valve| valves.lifts(valve).is_some());
    if is_measured {
        form.words(ui, "A lobe as measured goes before a card's events, which may stand beside it to be compared. A whole table of lifts is pasted into the file: `dotwise degree` with `--table` writes it.");
    } else if choices
        .iter()
        .all(|(form, _)| *form != Some(EventsForm::Card))
    {
        form.words(ui, "One card stands for both valves where both are quoted at one lift and neither has a second pair.");
    }
}

/// How whole a valve's events are: what is missing is asked for, what is too much can be taken out.
#[derive(Clone, Copy, PartialEq)]
enum Stated {
    Whole(EventsForm),
    Begun(EventsForm),
    InSeveral,
}

impl Stated {
    fn of(valves: &Valves, valve: Valve) -> Self {
        match (valves.form(valve), valves.events(valve)) {
            (Ok(form), Ok(_)) => Self::Whole(form),
            (Ok(form), Err(_)) => Self::Begun(form),
            (Err(NoEvents::Half(form, _)), _) => Self::Begun(form),
            (Err(NoEvents::Measured), _) => Self::Whole(EventsForm::Measured),
            (Err(NoEvents::NotStated), _) => Self::Begun(EventsForm::Angles),
            (Err(NoEvents::Several(_)), _) => Self::InSeveral,
        }
    }

    /// A number that belongs to some of the forms.
    fn number(
        self,
        ui: &mut Ui,
        form: &mut Form,
        (place, of): (&str, &[EventsForm]),
        value: &mut Option<f64>,
        usual: f64,
    ) {
        match (self, value) {
            (Self::Whole(_), Some(value)) => form.number(ui, place, value),
            (Self::Whole(_), None) => {}
            (Self::Begun(begun), value) if of.contains(&begun) => {
                form.optional(ui, place, value, usual);
            }
            (_, value) if value.is_some() => form.optional(ui, place, value, usual),
            _ => {}
        }
    }
}

/// The fields of the cam card, where there is one.
fn cam_card(ui: &mut Ui, form: &mut Form, valves: &mut Valves, mm: f64) {
    let [intake, exhaust] = Valve::BOTH.map(|valve| Stated::of(valves, valve));
    let stated = if intake == exhaust {
        intake
    } else {
        Stated::InSeveral
    };
    let Some(card) = &mut valves.card else {
        return;
    };
    let rows = [
        (
            "valves.card.intake_duration",
            &mut card.intake_duration,
            244.0,
        ),
        (
            "valves.card.exhaust_duration",
            &mut card.exhaust_duration,
            244.0,
        ),
        ("valves.card.separation", &mut card.separation, 110.0),
        ("valves.card.intake_centre", &mut card.intake_centre, 110.0),
        ("valves.card.intake_lift", &mut card.intake_lift, 9.0 / mm),
        ("valves.card.exhaust_lift", &mut card.exhaust_lift, 9.0 / mm),
    ];
    for (place, value, usual) in rows {
        stated.number(ui, form, (place, &[EventsForm::Card]), value, usual);
    }
}

const ANGLES: &[EventsForm] = &[EventsForm::Angles];
const DURATION: &[EventsForm] = &[EventsForm::Duration];
const OWN: &[EventsForm] = &[EventsForm::Angles, EventsForm::Duration];

fn intake_events(ui: &mut Ui, form: &mut Form, valves: &mut Valves, mm: f64) {
    let stated = Stated::of(valves, Valve::Intake);
    let second = second_pair(valves, Valve::Intake, mm);
    let own = &mut valves.intake;
    let rows = [
        (
            ("valves.intake.opens_btdc", ANGLES),
            &mut own.opens_btdc,
            12.0,
        ),
        (
            ("valves.intake.closes_abdc", ANGLES),
            &mut own.closes_abdc,
            52.0,
        ),
        (
            ("valves.intake.duration", DURATION),
            &mut own.duration,
            244.0,
        ),
        (("valves.intake.centre", DURATION), &mut own.centre, 110.0),
        (("valves.intake.lift", OWN), &mut own.lift, 9.0 / mm),
    ];
    for (place, value, usual) in rows {
        stated.number(ui, form, place, value, usual);
    }
    let has_pairs = own.quoted_at.is_some() || own.also_at.is_some();
    let asks = own.lifts.is_none() && stated != Stated::Whole(EventsForm::Card);
    if asks || has_pairs {
        form.optional(ui, "valves.intake.quoted_at", &mut own.quoted_at, 0.0);
        let mut has = own.also_at.is_some();
        if form.whether(ui, "valves.intake.also_at", &mut has) {
            own.also_at = has.then_some(IntakeAlsoAt {
                lift: second.0,
                opens_btdc: None,
                closes_abdc: None,
                duration: Some(second.1),
            });
        }
        if let Some(also) = &mut own.also_at {
            form.number(ui, "valves.intake.also_at.lift", &mut also.lift);
            let at = "valves.intake.also_at.opens_btdc";
            form.optional(ui, at, &mut also.opens_btdc, 0.0);
            let at = "valves.intake.also_at.closes_abdc";
            form.optional(ui, at, &mut also.closes_abdc, 0.0);
            let at = "valves.intake.also_at.duration";
            form.optional(ui, at, &mut also.duration, second.1);
        }
        form.found_only(ui, "valves.intake.also_at");
    }
    lifts(ui, form, "valves.intake.lifts", &mut own.lifts);
    form.found_only(ui, "valves.intake");
}

fn exhaust_events(ui: &mut Ui, form: &mut Form, valves: &mut Valves, mm: f64) {
    let stated = Stated::of(valves, Valve::Exhaust);
    let second = second_pair(valves, Valve::Exhaust, mm);
    let own = &mut valves.exhaust;
    let rows = [
        (
            ("valves.exhaust.opens_bbdc", ANGLES),
            &mut own.opens_bbdc,
            52.0,
        ),
        (
            ("valves.exhaust.closes_atdc", ANGLES),
            &mut own.closes_atdc,
            12.0,
        ),
        (
            ("valves.exhaust.duration", DURATION),
            &mut own.duration,
            244.0,
        ),
        (("valves.exhaust.centre", DURATION), &mut own.centre, 110.0),
        (("valves.exhaust.lift", OWN), &mut own.lift, 9.0 / mm),
    ];
    for (place, value, usual) in rows {
        stated.number(ui, form, place, value, usual);
    }
    let has_pairs = own.quoted_at.is_some() || own.also_at.is_some();
    let asks = own.lifts.is_none() && stated != Stated::Whole(EventsForm::Card);
    if asks || has_pairs {
        form.optional(ui, "valves.exhaust.quoted_at", &mut own.quoted_at, 0.0);
        let mut has = own.also_at.is_some();
        if form.whether(ui, "valves.exhaust.also_at", &mut has) {
            own.also_at = has.then_some(ExhaustAlsoAt {
                lift: second.0,
                opens_bbdc: None,
                closes_atdc: None,
                duration: Some(second.1),
            });
        }
        if let Some(also) = &mut own.also_at {
            form.number(ui, "valves.exhaust.also_at.lift", &mut also.lift);
            let at = "valves.exhaust.also_at.opens_bbdc";
            form.optional(ui, at, &mut also.opens_bbdc, 0.0);
            let at = "valves.exhaust.also_at.closes_atdc";
            form.optional(ui, at, &mut also.closes_atdc, 0.0);
            let at = "valves.exhaust.also_at.duration";
            form.optional(ui, at, &mut also.duration, second.1);
        }
        form.found_only(ui, "valves.exhaust.also_at");
    }
    lifts(ui, form, "valves.exhaust.lifts", &mut own.lifts);
    form.found_only(ui, "valves.exhaust");
}

/// The points of a lobe as measured, where it was.
fn lifts(ui: &mut Ui, form: &mut Form, place: &str, lifts: &mut Option<Vec<LiftPoint>>) {
    let Some(points) = lifts else { return };
    form.rows(
        ui,
        place,
        points,
        |form, ui, here, point| {
            form.cell(ui, &format!("{here}.0"), &mut point.0);
            form.cell(ui, &format!("{here}.1"), &mut point.1);
        },
        |last| LiftPoint(last.map_or(360.0, |last| last.0 + 10.0), 0.0),
    );
    if form.button(ui, place, "Take the whole lobe as measured out") {
        *lifts = None;
    }
}

/// A second pair to start from, which leaves the lobe as it is: a lift well away from that of the
/// events, and how long the valve is over it now.
fn second_pair(valves: &Valves, valve: Valve, mm: f64) -> (f64, f64) {
    let quoted_mm = valves.quoted_at(valve).unwrap_or(0.0) * mm;
    let lift = if quoted_mm < 0.6 { 1.27 } else { 0.15 } / mm;
    let over = Lobe::of(valves, valve).duration_over_deg(lift * valves.ratio());
    (lift, over.map_or(200.0, |deg| (deg * 10.0).round() / 10.0))
}

pub(super) fn clearance(ui: &mut Ui, form: &mut Form, d: &mut Description) {
    let mut measured = d.clearance.is_some();
    form.words(ui, "How far each valve could be pushed from its seat by hand at TDC before it touched the piston");
    if form.whether(ui, "clearance", &mut measured) {
        let mm = d.units.millimetres();
        d.clearance = measured.then_some(Clearance {
            intake_drop: 4.0 / mm,
            exhaust_drop: 4.5 / mm,
            valve_angle: None,
            valves_touch_at: None,
        });
    }
    if let Some(clearance) = &mut d.clearance {
        form.number(ui, "clearance.intake_drop", &mut clearance.intake_drop);
        form.number(ui, "clearance.exhaust_drop", &mut clearance.exhaust_drop);
        form.optional(ui, "clearance.valve_angle", &mut clearance.valve_angle, 0.0);
        let usual = 5.0 / d.units.millimetres();
        form.optional(
            ui,
            "clearance.valves_touch_at",
            &mut clearance.valves_touch_at,
            usual,
        );
    }
}

/// What rides on the lobes.
fn follower(ui: &mut Ui, form: &mut Form, written: &mut Option<Follower>, mm: f64) {
    let mut given = written.is_some();
    if form.whether(ui, "valves.follower", &mut given) {
        *written = given.then_some(Follower {
            kind: FollowerKind::Flat,
            radius: None,
            length: None,
        });
    }
    let Some(follower) = written else {
        return;
    };
    let kinds = [
        (FollowerKind::Flat, "flat"),
        (FollowerKind::Roller, "a roller"),
        (FollowerKind::Finger, "a finger"),
    ];
    form.choice(ui, "valves.follower.kind", &mut follower.kind, &kinds);
    if follower.kind != FollowerKind::Flat || follower.radius.is_some() {
        form.optional(ui, "valves.follower.radius", &mut follower.radius, 9.0 / mm);
    }
    if follower.kind == FollowerKind::Finger || follower.length.is_some() {
        form.optional(
            ui,
            "valves.follower.length",
            &mut follower.length,
            30.0 / mm,
        );
    }
}
