//! How each question is asked, and why its answer is right. The handout's script says it in these
//! words too: what stands in braces is put in by whoever says it.

use serde::Serialize;

/// The words of the questions and of their reasons.
#[derive(Debug, Serialize)]
pub(crate) struct Wording {
    /// Where one cylinder is on compression.
    pub(crate) on_compression: &'static str,
    /// Where several are.
    pub(crate) one_on_compression: &'static str,
    /// Of one cylinder.
    pub(crate) stroke_of: &'static str,
    /// With the crank so far before or past a firing TDC.
    pub(crate) rotor_points: &'static str,
    /// Of one cylinder.
    pub(crate) firing_or_overlap: &'static str,
    /// Of an engine on which `{parts}` can be looked at.
    pub(crate) what_is_wrong: &'static str,

    /// Where the crank stands by a firing TDC.
    pub(crate) at: &'static str,
    /// The same, short of it.
    pub(crate) before: &'static str,
    /// The same, gone by it.
    pub(crate) past: &'static str,

    /// Where a cylinder stands, and what stroke that is.
    pub(crate) standing: &'static str,
    /// The `{way}` of a piston on power and intake.
    pub(crate) going_down: &'static str,
    /// The `{way}` of the others.
    pub(crate) coming_up: &'static str,
    /// The `{valves}`: both shut, the intake's open, the exhaust's open, both open.
    pub(crate) valves: [&'static str; 4],
    /// Which cylinders are on a stroke.
    pub(crate) on_stroke: &'static str,

    /// Where the rotor points, and why there.
    pub(crate) rotor: &'static str,
    /// The `{rotor}` at its tower.
    pub(crate) rotor_at: &'static str,
    /// The same, short of it.
    pub(crate) rotor_before: &'static str,
    /// The same, gone by it.
    pub(crate) rotor_past: &'static str,

    /// The valves at a dead centre: both shut, the intake's open, the exhaust's open, both open.
    pub(crate) at_dead_centre: [&'static str; 4],
    /// The exhaust valve a little before it and the intake valve a little past it.
    pub(crate) either_side: &'static str,
    /// The same, where both stay shut.
    pub(crate) stay_shut: &'static str,
    /// An `{exhaust}` or `{intake}` valve that is open.
    pub(crate) open: &'static str,
    /// One that is open by less than is told.
    pub(crate) just_open: &'static str,
    /// One that is shut.
    pub(crate) shut: &'static str,
    /// How far a valve is off its seat that is so by less than is told.
    pub(crate) hardly: &'static str,
    /// Which dead centre that is.
    pub(crate) that_is: &'static str,
    /// The rotor at the tower of its cylinder.
    pub(crate) rotor_at_its_own: &'static str,
    /// The rotor at another.
    pub(crate) rotor_elsewhere: &'static str,
    /// What does not tell one from the other.
    pub(crate) same_at_both: &'static str,
    /// What else does not, where the plug sparks every turn.
    pub(crate) sparks_at_both: &'static str,
}

/// The one wording.
pub(crate) const WORDS: Wording = Wording {
    on_compression: "Which cylinder is on its compression stroke?",
    one_on_compression: "Name a cylinder that is on its compression stroke.",
    stroke_of: "Which stroke is No. {cylinder} on?",
    rotor_points: "The crank is {crank} No. 1's firing TDC. Which cylinder's lead does the rotor point at?",
    firing_or_overlap: "No. {cylinder} stands at top dead centre (TDC): firing, or overlap? Turn it a little either way and watch its valves.",
    what_is_wrong: "Someone put this one together, perhaps with a mistake. Turn it to No. 1's firing TDC, look at {parts}, and say what is wrong.",
    at: "at",
    before: "{deg}° before",
    past: "{deg}° past",
    standing: "No. {cylinder} is {place} its firing TDC: the piston is {way}, and {valves}. That is {stroke}.",
    going_down: "going down",
    coming_up: "coming up",
    valves: [
        "both its valves are shut",
        "its intake valve is open, its exhaust valve shut",
        "its exhaust valve is open, its intake valve shut",
        "both its valves are open",
    ],
    on_stroke: "On {stroke}: {cylinders}.",
    rotor: "The engine stands {place} No. {cylinder}'s firing TDC, and the rotor turns at half the crank's speed: it is {rotor} No. {cylinder}'s tower, the nearest.",
    rotor_at: "at",
    rotor_before: "{deg}° short of",
    rotor_past: "{deg}° past",
    at_dead_centre: [
        "Both its valves are shut.",
        "Its intake valve is already off its seat.",
        "Its exhaust valve is still off its seat.",
        "Both its valves are off their seats, intake {intake} and exhaust {exhaust}.",
    ],
    either_side: "{deg}° back its exhaust valve is {exhaust}, {deg}° on its intake valve is {intake}.",
    stay_shut: "{deg}° back and {deg}° on they are shut too.",
    open: "open {lift}",
    just_open: "just open",
    shut: "shut",
    hardly: "hardly",
    that_is: "That is {which}.",
    rotor_at_its_own: "The rotor is at its tower.",
    rotor_elsewhere: "The rotor is at No. {tower}'s tower, not at its own.",
    same_at_both: "The crank and every mark on it stand the same at both.",
    sparks_at_both: "So does a timing light: this plug sparks on overlap too.",
};

/// Words with these put in where their names stand in braces.
pub(crate) fn filled(words: &str, put_in: &[(&str, &str)]) -> String {
    put_in
        .iter()
        .fold(words.to_owned(), |words, (name, value)| {
            words.replace(&format!("{{{name}}}"), value)
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_stands_in_braces_is_put_in_wherever_it_stands() {
        let put_in = [("deg", "20"), ("exhaust", "shut"), ("intake", "open 1 mm")];
        assert_eq!(
            filled(WORDS.either_side, &put_in),
            "20° back its exhaust valve is shut, 20° on its intake valve is open 1 mm."
        );
    }
}
