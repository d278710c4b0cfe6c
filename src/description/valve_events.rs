//! A valve's events in each form in which a file can have them.
//!
//! A valve's events are written as two angles, as a duration and the lobe's centre, or both valves'
//! at once as a cam card gives them. Signs and formulas: the intake opens before TDC, closes after
//! BDC and has its centre after TDC; the exhaust opens before BDC, closes after TDC and has its
//! centre before TDC. Duration = opens + 180 + closes. With the duration D and the centre C of
//! either valve, the event at TDC is D/2 − C and the one at BDC D/2 + C − 180. From a card's
//! separation S (cam degrees) and intake centre C, the exhaust centre is 2 S − C: the separation is
//! half the sum of the centres. Source: arithmetic of the terms as cam cards use them.
//!
//! Whatever the form, [`Valves::events`] tells the same [`Events`]; nothing else looks at the form.
//!
//! A lobe as measured goes before them all: its events follow from it, by a law. A card's may stand
//! beside it, to be compared ([`Valves::events_on_card`]).

use super::valve::Valve;
use super::valve_forms::{CamCard, EventsForm, Exhaust, Intake, LiftPoint};
use super::valves::Valves;

/// Why a valve has no events.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoEvents {
    /// Nothing is written of them.
    NotStated,
    /// They are written in more than one form: in these, or in fields of the valve's own beside a
    /// card.
    Several(Vec<EventsForm>),
    /// They are not written but follow from the lobe as measured.
    Measured,
    /// A form is begun, and these fields are missing from it.
    Half(EventsForm, Vec<&'static str>),
}

/// A valve's events, whatever form they are written in. Degrees of crank; lifts in the file's
/// units, where they were measured.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Events {
    /// Before its dead centre: TDC for the intake, BDC for the exhaust.
    pub opens_before: f64,
    /// After its dead centre: BDC for the intake, TDC for the exhaust.
    pub closes_after: f64,
    /// From opening to closing.
    pub duration: f64,
    /// Where it is fully open: after TDC for the intake, before TDC for the exhaust.
    pub centre: f64,
    /// Full lift.
    pub lift: f64,
    /// The lift at which they are quoted; 0 where nothing is stated.
    pub quoted_at: f64,
    /// How long it is over another lift, where that is stated whole.
    pub also_at: Option<AlsoAt>,
}

/// How long a valve is over another lift than that of its events.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AlsoAt {
    /// The lift.
    pub lift: f64,
    /// Crank degrees over it.
    pub duration: f64,
    /// Midway between its two angles, counted as [`Events::centre`] is; None where only the
    /// duration is stated.
    pub centre: Option<f64>,
}

/// What is written of one valve's events, under names that fit both valves.
struct Written {
    opens: (&'static str, Option<f64>),
    closes: (&'static str, Option<f64>),
    duration: Option<f64>,
    centre: Option<f64>,
    lift: Option<f64>,
    is_blank: bool,
}

/// A duration or angle that was worked out, without the last digits that binary fractions leave.
fn tidy(degrees: f64) -> f64 {
    (degrees * 1e9).round() / 1e9
}

/// The events before and after a valve's dead centres from its duration and centre: opening and
/// closing, as that valve counts them.
fn angles_of(valve: Valve, duration: f64, centre: f64) -> (f64, f64) {
    let at_tdc = tidy(duration / 2.0 - centre);
    let at_bdc = tidy(duration / 2.0 + centre - 180.0);
    match valve {
        Valve::Intake => (at_tdc, at_bdc),
        Valve::Exhaust => (at_bdc, at_tdc),
    }
}

/// A valve's centre from its duration and its two angles.
fn centre_of(valve: Valve, opens: f64, closes: f64) -> f64 {
    let duration = opens + 180.0 + closes;
    match valve {
        Valve::Intake => duration / 2.0 - opens,
        Valve::Exhaust => duration / 2.0 - closes,
    }
}

impl Valves {
    /// A valve's events, in whatever form they are written.
    ///
    /// # Errors
    /// Where they are not written, written twice, or half: no [`Engine`](crate::engine::Engine) has
    /// such. And where they follow from a lobe as measured: `laws::events` tells what
    /// they then are.
    ///
    /// ```
    /// use dotwise::{description::{Valve, Valves}, source};
    /// // 31/63/77/29 is 274 and 286 long, with centres 106 and 114: separation 110.
    /// // A trade article on reading cam cards, 2023.
    /// let card = "(card: (intake_duration: 274.0, exhaust_duration: 286.0, separation: 110.0, \
    ///     intake_centre: 106.0, intake_lift: 9.5, exhaust_lift: 9.0))";
    /// let valves: Valves = source::ron(card).0.expect("valves");
    /// let intake = valves.events(Valve::Intake).expect("events");
    /// assert_eq!((intake.opens_before, intake.closes_after), (31.0, 63.0));
    /// let exhaust = valves.events(Valve::Exhaust).expect("events");
    /// assert_eq!((exhaust.opens_before, exhaust.closes_after, exhaust.centre), (77.0, 29.0, 114.0));
    /// ```
    pub fn events(&self, valve: Valve) -> Result<Events, NoEvents> {
        match self.lifts(valve) {
            Some(_) => Err(NoEvents::Measured),
            None => self.events_on_card(valve),
        }
    }

    /// A valve's lobe as measured.
    pub fn lifts(&self, valve: Valve) -> Option<&[LiftPoint]> {
        match valve {
            Valve::Intake => self.intake.lifts.as_deref(),
            Valve::Exhaust => self.exhaust.lifts.as_deref(),
        }
    }

    /// A valve's events as its card has them, whether or not its lobe was measured too.
    ///
    /// # Errors
    /// Where they are not written, written twice, or half.
    pub fn events_on_card(&self, valve: Valve) -> Result<Events, NoEvents> {
        let form = self.form_on_card(valve)?;
        let written = self.written(valve);
        let half = |missing: &[(&'static str, Option<f64>)]| {
            let missing = missing.iter().filter(|(_, value)| value.is_none());
            NoEvents::Half(form, missing.map(|(name, _)| *name).collect())
        };
        let events = |(opens_before, closes_after), duration, centre, lift| Events {
            opens_before,
            closes_after,
            duration,
            centre,
            lift,
            quoted_at: self.quoted_at(valve).unwrap_or(0.0),
            also_at: self.also_at(valve),
        };
        let lift = ("lift", written.lift);
        match form {
            EventsForm::Angles => {
                let (Some(opens), Some(closes), Some(lift)) =
                    (written.opens.1, written.closes.1, written.lift)
                else {
                    return Err(half(&[written.opens, written.closes, lift]));
                };
                let centre = centre_of(valve, opens, closes);
                let duration = opens + 180.0 + closes;
                Ok(events((opens, closes), duration, centre, lift))
            }
            EventsForm::Duration => {
                let (Some(duration), Some(centre), Some(lift)) =
                    (written.duration, written.centre, written.lift)
                else {
                    return Err(half(&[
                        ("duration", written.duration),
                        ("centre", written.centre),
                        lift,
                    ]));
                };
                let angles = angles_of(valve, duration, centre);
                Ok(events(angles, duration, centre, lift))
            }
            EventsForm::Card | EventsForm::Measured => {
                let card = self.card.clone().unwrap_or_default();
                let (duration, lift) = match valve {
                    Valve::Intake => (card.intake_duration, card.intake_lift),
                    Valve::Exhaust => (card.exhaust_duration, card.exhaust_lift),
                };
                let (Some(duration), Some(separation), Some(intake_centre), Some(lift)) =
                    (duration, card.separation, card.intake_centre, lift)
                else {
                    return Err(half(&[
                        ("intake_duration", card.intake_duration),
                        ("exhaust_duration", card.exhaust_duration),
                        ("separation", card.separation),
                        ("intake_centre", card.intake_centre),
                        ("intake_lift", card.intake_lift),
                        ("exhaust_lift", card.exhaust_lift),
                    ]));
                };
                let centre = match valve {
                    Valve::Intake => intake_centre,
                    Valve::Exhaust => tidy(2.0 * separation - intake_centre),
                };
                let angles = angles_of(valve, duration, centre);
                Ok(events(angles, duration, centre, lift))
            }
        }
    }

    /// The form that a valve's events follow from.
    ///
    /// # Errors
    /// Where it is none, or more than one.
    pub fn form(&self, valve: Valve) -> Result<EventsForm, NoEvents> {
        match self.lifts(valve) {
            Some(_) => Ok(EventsForm::Measured),
            None => self.form_on_card(valve),
        }
    }

    /// The one form in which something is written of a valve's events, its lobe as measured aside.
    fn form_on_card(&self, valve: Valve) -> Result<EventsForm, NoEvents> {
        let written = self.written(valve);
        let angles = written.opens.1.is_some() || written.closes.1.is_some();
        let duration = written.duration.is_some() || written.centre.is_some();
        let mut begun = Vec::new();
        if angles {
            begun.push(EventsForm::Angles);
        }
        if duration {
            begun.push(EventsForm::Duration);
        }
        if self.card.is_some() {
            begun.push(EventsForm::Card);
            if !written.is_blank {
                return Err(NoEvents::Several(begun));
            }
        }
        match begun.as_slice() {
            [] if written.lift.is_some() => {
                let missing = vec![written.opens.0, written.closes.0];
                Err(NoEvents::Half(EventsForm::Angles, missing))
            }
            [] => Err(NoEvents::NotStated),
            [one] => Ok(*one),
            _ => Err(NoEvents::Several(begun)),
        }
    }

    /// The same valves with their events in another form, nothing lost. None where they have no
    /// events, or where a card has no room for them: it has one lift at which both valves are
    /// quoted, and no second pair.
    pub fn in_form(&self, form: EventsForm) -> Option<Self> {
        let [intake, exhaust] =
            [Valve::Intake, Valve::Exhaust].map(|valve| self.events(valve).ok());
        let (intake, exhaust) = (intake?, exhaust?);
        let mut other = self.clone();
        other.card = None;
        for (own, events) in [
            (&mut other.intake.lift, intake),
            (&mut other.exhaust.lift, exhaust),
        ] {
            *own = Some(events.lift);
        }
        (other.intake.opens_btdc, other.intake.closes_abdc) = (None, None);
        (other.exhaust.opens_bbdc, other.exhaust.closes_atdc) = (None, None);
        (other.intake.duration, other.intake.centre) = (None, None);
        (other.exhaust.duration, other.exhaust.centre) = (None, None);
        match form {
            EventsForm::Angles => {
                other.intake.opens_btdc = Some(intake.opens_before);
                other.intake.closes_abdc = Some(intake.closes_after);
                other.exhaust.opens_bbdc = Some(exhaust.opens_before);
                other.exhaust.closes_atdc = Some(exhaust.closes_after);
            }
            EventsForm::Duration => {
                other.intake.duration = Some(tidy(intake.duration));
                other.intake.centre = Some(tidy(intake.centre));
                other.exhaust.duration = Some(tidy(exhaust.duration));
                other.exhaust.centre = Some(tidy(exhaust.centre));
            }
            // No lobe can be made up of events.
            EventsForm::Measured => return None,
            EventsForm::Card => {
                let quoted_at = self.quoted_at(Valve::Intake);
                let pairs = self.intake.also_at.is_some() || self.exhaust.also_at.is_some();
                if pairs || quoted_at != self.quoted_at(Valve::Exhaust) {
                    return None;
                }
                other.quoted_at = quoted_at;
                (other.intake, other.exhaust) = (Intake::default(), Exhaust::default());
                other.card = Some(CamCard {
                    intake_duration: Some(tidy(intake.duration)),
                    exhaust_duration: Some(tidy(exhaust.duration)),
                    separation: Some(tidy(f64::midpoint(intake.centre, exhaust.centre))),
                    intake_centre: Some(tidy(intake.centre)),
                    intake_lift: Some(intake.lift),
                    exhaust_lift: Some(exhaust.lift),
                });
            }
        }
        Some(other)
    }

    fn written(&self, valve: Valve) -> Written {
        match valve {
            Valve::Intake => Written {
                opens: ("opens_btdc", self.intake.opens_btdc),
                closes: ("closes_abdc", self.intake.closes_abdc),
                duration: self.intake.duration,
                centre: self.intake.centre,
                lift: self.intake.lift,
                is_blank: self.intake.has_no_events(),
            },
            Valve::Exhaust => Written {
                opens: ("opens_bbdc", self.exhaust.opens_bbdc),
                closes: ("closes_atdc", self.exhaust.closes_atdc),
                duration: self.exhaust.duration,
                centre: self.exhaust.centre,
                lift: self.exhaust.lift,
                is_blank: self.exhaust.has_no_events(),
            },
        }
    }

    /// What is written of a valve's second pair: its lift, its two angles and its duration.
    pub(crate) fn written_also_at(&self, valve: Valve) -> Option<(f64, [Option<f64>; 3])> {
        match valve {
            Valve::Intake => self.intake.also_at.as_ref().map(|also| {
                let angles = [also.opens_btdc, also.closes_abdc, also.duration];
                (also.lift, angles)
            }),
            Valve::Exhaust => self.exhaust.also_at.as_ref().map(|also| {
                let angles = [also.opens_bbdc, also.closes_atdc, also.duration];
                (also.lift, angles)
            }),
        }
    }

    /// A valve's second pair, where it is written whole and once.
    fn also_at(&self, valve: Valve) -> Option<AlsoAt> {
        match self.written_also_at(valve)? {
            (lift, [Some(opens), Some(closes), None]) => Some(AlsoAt {
                lift,
                duration: opens + 180.0 + closes,
                centre: Some(centre_of(valve, opens, closes)),
            }),
            (lift, [None, None, Some(duration)]) => Some(AlsoAt {
                lift,
                duration,
                centre: None,
            }),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn valves(text: &str) -> Valves {
        crate::source::ron(text).0.expect("valves")
    }

    fn angles(events: [f64; 4]) -> Valves {
        let [opens_btdc, closes_abdc, opens_bbdc, closes_atdc] = events;
        valves(&format!(
            "(intake: (opens_btdc: {opens_btdc}, closes_abdc: {closes_abdc}, lift: 9.5), \
             exhaust: (opens_bbdc: {opens_bbdc}, closes_atdc: {closes_atdc}, lift: 9.0), quoted_at: 1.27)"
        ))
    }

    /// Duration, centre and the two angles of both valves.
    fn figures(valves: &Valves) -> [[f64; 4]; 2] {
        Valve::BOTH.map(|valve| {
            let events = valves.events(valve).expect("events");
            let (opens, closes) = (events.opens_before, events.closes_after);
            [events.duration, events.centre, opens, closes]
        })
    }

    #[test]
    fn published_cards_are_the_same_in_every_form() {
        // Opens BTDC, closes ABDC, opens BBDC, closes ATDC; then duration and centre of each.
        for (events, intake, exhaust, separation) in [
            // A trade article on reading cam cards, 2023.
            (
                [31.0, 63.0, 77.0, 29.0],
                (274.0, 106.0),
                (286.0, 114.0),
                110.0,
            ),
            // A trade forum, common practice: straight up, 5° advanced, 5° retarded.
            (
                [20.0, 60.0, 60.0, 20.0],
                (260.0, 110.0),
                (260.0, 110.0),
                110.0,
            ),
            (
                [25.0, 55.0, 65.0, 15.0],
                (260.0, 105.0),
                (260.0, 115.0),
                110.0,
            ),
            (
                [15.0, 65.0, 55.0, 25.0],
                (260.0, 115.0),
                (260.0, 105.0),
                110.0,
            ),
            // Rathbun, Gas, Gasoline and Oil Engines handbook, §138: the inlet opens after TDC.
            (
                [-15.0, 35.0, 40.0, 10.0],
                (200.0, 115.0),
                (230.0, 105.0),
                110.0,
            ),
        ] {
            let written = angles(events);
            let [opens_btdc, closes_abdc, opens_bbdc, closes_atdc] = events;
            let wanted = [
                [intake.0, intake.1, opens_btdc, closes_abdc],
                [exhaust.0, exhaust.1, opens_bbdc, closes_atdc],
            ];
            let by_duration = valves(&format!(
                "(intake: (duration: {}, centre: {}, lift: 9.5), \
                 exhaust: (duration: {}, centre: {}, lift: 9.0), quoted_at: 1.27)",
                intake.0, intake.1, exhaust.0, exhaust.1
            ));
            let by_card = valves(&format!(
                "(card: (intake_duration: {}, exhaust_duration: {}, separation: {separation}, \
                 intake_centre: {}, intake_lift: 9.5, exhaust_lift: 9.0), quoted_at: 1.27)",
                intake.0, exhaust.0, intake.1
            ));
            for form in [&written, &by_duration, &by_card] {
                assert_eq!(figures(form), wanted);
                for other in EventsForm::ALL {
                    let changed = form.in_form(other).expect("all can be");
                    assert_eq!(changed.form(Valve::Exhaust), Ok(other));
                    assert_eq!(figures(&changed), wanted, "as {}", other.word());
                }
            }
            assert_eq!(written.in_form(EventsForm::Duration), Some(by_duration));
            assert_eq!(written.in_form(EventsForm::Card), Some(by_card));
        }
    }

    #[test]
    fn a_form_that_has_no_room_for_what_is_written_is_refused() {
        let own = valves(
            "(intake: (duration: 244, centre: 110, lift: 9.5, quoted_at: 1.0), \
             exhaust: (opens_bbdc: 52, closes_atdc: 12, lift: 9, also_at: (lift: 1.27, duration: 208)))",
        );
        assert_eq!(own.in_form(EventsForm::Card), None);
        let same = own.in_form(EventsForm::Duration).expect("can be");
        assert_eq!(same.intake.quoted_at, Some(1.0));
        assert_eq!(same.events(Valve::Exhaust), own.events(Valve::Exhaust));
        assert!(same.exhaust.also_at.is_some());
    }

    #[test]
    fn none_two_and_half_of_a_form_are_told_apart() {
        let fault = |text: &str| {
            let valves = valves(text);
            Valve::BOTH.map(|valve| valves.events(valve).err())
        };
        let card = "card: (intake_duration: 274, separation: 110, intake_centre: 106, intake_lift: 9, exhaust_lift: 9)";
        let missing = NoEvents::Half(EventsForm::Card, vec!["exhaust_duration"]);
        assert_eq!(fault(&format!("({card})"))[1], Some(missing));
        assert_eq!(
            fault("()"),
            [Some(NoEvents::NotStated), Some(NoEvents::NotStated)]
        );
        let two =
            "(intake: (opens_btdc: 12, closes_abdc: 52, duration: 244, centre: 110, lift: 9))";
        let both = NoEvents::Several(vec![EventsForm::Angles, EventsForm::Duration]);
        assert_eq!(fault(two)[0], Some(both));
        let beside = format!("(exhaust: (lift: 9), {card})");
        let both = NoEvents::Several(vec![EventsForm::Card]);
        assert_eq!(fault(&beside)[1], Some(both));
        assert_eq!(
            fault("(intake: (duration: 244, lift: 9), exhaust: (lift: 9))"),
            [
                Some(NoEvents::Half(EventsForm::Duration, vec!["centre"])),
                Some(NoEvents::Half(
                    EventsForm::Angles,
                    vec!["opens_bbdc", "closes_atdc"]
                )),
            ]
        );
    }
}
