//! What a builder may ask, and the command that answers it: for `dotwise --help` and the manual.

/// Over everything that is done by hand.
pub(super) const CAUTION: &str = "The engine maker's manual and a qualified mechanic come before this program.\n\
    Before turning an engine by hand: ignition off, battery disconnected, fingers clear; never force a crank that stops.";

/// Each question with what is typed after `dotwise`.
const EXAMPLES: &[(&str, &[&str])] = &[
    (
        "Which engines are built in, and a file to start from",
        &["scenes", "scenes bench_four > mine.ron"],
    ),
    (
        "What goes in the file, and how do I find it on the engine",
        &["fields", "fields valves", "fields valves.intake.lift"],
    ),
    (
        "Is my description right, and what follows from it",
        &["check mine.ron"],
    ),
    (
        "Where does everything stand",
        &["at mine.ron 0 180 -8", "table mine.ron --step 10 --csv"],
    ),
    (
        "What if the cam went in a tooth out (on any of these)",
        &[
            "at mine.ron 0 --cam-teeth 1",
            "at mine.ron 0 --drive-teeth -1 --body-turn 5",
            "at mine.ron 0 --leads 1,3,4,2",
        ],
    ),
    (
        "What did I put together wrong",
        &[
            "diagnose mine.ron what_i_saw.seen.ron",
            "diagnose mine.ron what_i_saw.seen.ron --stage cover-on",
        ],
    ),
    (
        "Which looks prove that all is right, before it is closed",
        &[
            "prove mine.ron",
            "prove mine.ron --stage case-open --without rotor",
            "prove mine.ron what_i_saw.seen.ron -o record.pdf",
        ],
    ),
    (
        "What comes next, step by step, and what was measured when",
        &[
            "job mine.ron --way stripped",
            "job mine.ron --build mine.build.ron --done tdc-stop a=21 b=-15",
        ],
    ),
    (
        "How does the distributor go in; without one, how is the spark set",
        &["dropin mine.ron", "dropin mine.ron --stage case-open"],
    ),
    (
        "Where do I set which valves, do they clear the pistons",
        &["lash mine.ron", "clearance mine.ron"],
    ),
    ("Where is true TDC", &["tdc --stop 21 -15 mine.ron"]),
    (
        "Is the cam where its card says",
        &["degree mine.ron --intake 14 206 --at 0.5"],
    ),
    (
        "What do my lobes really do, read every few degrees with a dial",
        &["degree mine.ron --table lifts.csv -o lobes.pdf"],
    ),
    (
        "What is the firing order of this engine",
        &["order --felt 1=0 3=180 4=360 2=540"],
    ),
    (
        "Sheets for the bench, at true size",
        &["sheet mine.ron -o bench.pdf"],
    ),
    (
        "The engine on twenty phones, with hidden answers",
        &["handout mine.ron -o club.html --quiz"],
    ),
    #[cfg(feature = "window")]
    (
        "A picture, still or turning",
        &[
            "picture mine.ron --at 0 --view drive -o drive.png",
            "picture mine.ron --turn 720 --step 5 -o turning.png",
        ],
    ),
    #[cfg(feature = "window")]
    ("How fast does it draw here", &["speed mine.ron"]),
    ("Words completed in this shell", &["completions bash"]),
];

/// The examples as the help shows them, with the caution.
pub(super) fn text() -> String {
    let mut text = String::from("What to ask, and how:\n");
    for (question, commands) in EXAMPLES {
        text += &format!("\n  {question}\n");
        for command in *commands {
            text += &format!("    dotwise {command}\n");
        }
    }
    text + "\nAny command but pictures and pages answers with one JSON document under `--json`. Angles are crank degrees after No. 1's firing TDC, in the running direction.\n\n"
        + CAUTION
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::command::CommandLine;
    use crate::words::COLUMNS;

    #[test]
    fn every_example_is_a_command_line_that_is_taken() {
        for command in EXAMPLES.iter().flat_map(|(_, commands)| *commands) {
            let words = command.split(" > ").next().unwrap_or_default();
            let line = ["dotwise"].into_iter().chain(words.split_whitespace());
            let read = CommandLine::read(line.map(Into::into));
            assert!(
                read.is_ok(),
                "{command}: {}",
                read.err().map_or(String::new(), |error| error.to_string())
            );
        }
    }

    #[test]
    fn no_line_of_an_example_is_wider_than_a_terminal() {
        for line in text().lines().filter(|line| line.starts_with("  ")) {
            assert!(line.chars().count() <= COLUMNS, "{line}");
        }
    }
}
