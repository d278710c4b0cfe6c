//! Every answer the program gives, asked of any bytes: as a description, and as sightings of a
//! built-in engine. None may end in a panic, take long, or hold something that is no number.
//!
//! `tests/any_bytes.rs` asks for bytes that it makes up, `tests/fuzz/` for bytes that a fuzzer finds.
#![allow(dead_code, reason = "each target takes what it needs")]
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test says what it wants by failing"
)]

use std::fs;
use std::path::PathBuf;
use std::sync::{Arc, LazyLock};
use std::time::{Duration, Instant};

use clap::Parser as _;
use dotwise::angle::CrankAngle;
use dotwise::command::{CommandLine, Terminal};
use dotwise::document::Document;
use dotwise::drawing::cap::Cap;
use dotwise::drawing::degree_wheel::DegreeWheel;
use dotwise::drawing::gear_face::GearFace;
use dotwise::drawing::lift_curves::LiftCurves;
use dotwise::drawing::section::{AlongTheCrank, FromTheFront};
use dotwise::drawing::stroke_ribbon::StrokeRibbon;
use dotwise::drawing::{Drawing, View};
use dotwise::engine::{Engine, read};
use dotwise::geometry::{Layout, Pose};
use dotwise::output::sheet::{self, SheetOptions};
use dotwise::output::{html, pdf, svg};
use dotwise::phasing::Phasing;
use dotwise::quiz::{QuestionKind, Quiz};

/// What one answer may take: half a second, and four times that where the program was built to be
/// debugged.
const LONGEST: Duration = Duration::from_millis(if cfg!(debug_assertions) { 2000 } else { 500 });

/// What is asked of a description that is any text; ENGINE stands for its file.
const OF_ANY_TEXT: [&str; 4] = [
    "check ENGINE",
    "check ENGINE --json",
    "at ENGINE 0",
    "dropin ENGINE --json",
];

/// What is asked of a description that makes an engine.
const OF_AN_ENGINE: [&str; 36] = [
    "at ENGINE 0 -8 123.4 719.999",
    "at ENGINE 0 -8 123.4 719.999 --json",
    "at ENGINE 0 --cam-teeth 1",
    "at ENGINE 0 --cam-teeth -1 --drive-teeth 1 --body-turn 3",
    "check ENGINE --cam-teeth 3 --json",
    "table ENGINE --step 30",
    "table ENGINE --step 30 --csv",
    "table ENGINE --step 30 --json",
    "dropin ENGINE",
    "job ENGINE",
    "job ENGINE --way stripped --json",
    "job ENGINE --way front --stage cover-on",
    "dropin ENGINE --cam-teeth -1 --json",
    "lash ENGINE",
    "lash ENGINE --json",
    "lash ENGINE --margin 0 --json",
    "clearance ENGINE",
    "clearance ENGINE --json",
    "tdc --stop 21 -15 ENGINE",
    "tdc --stop 21 -15 ENGINE --json",
    "tdc --by-eye 0.05 ENGINE",
    "tdc --by-eye 0.05 ENGINE --json",
    "degree ENGINE --intake -10 232 --at 0.5",
    "degree ENGINE --intake -10 232 --exhaust -232 10 --at 0.5 --json",
    "sheet ENGINE -o -",
    "sheet ENGINE -o - --paper letter --only wheel --diameter 100",
    "handout ENGINE -o -",
    "handout ENGINE -o - --quiz",
    "diagnose ENGINE SEEN",
    "diagnose ENGINE SEEN --json",
    "diagnose ENGINE SEEN --cam-teeth 1",
    "prove ENGINE --stage fired",
    "prove ENGINE SEEN --json --stage case-open",
    "check ENGINE --body-turn 3",
    "lash ENGINE --cam-teeth 2",
    "clearance ENGINE --cam-teeth 2",
];

/// What was seen on an engine with a first cylinder, whatever else it has.
const SEEN: &str = "(format: 1, sightings: [
    (crank: 0.0, valves: [(cylinder: 1, valve: Intake, is: Closed), (cylinder: 1, valve: Exhaust, is: Closed)]),
    (crank: 200.0, turned_on: true, compression_felt: [1], cam_teeth_off: 1),
])";

/// Bytes in files of their own, to be named on the command line.
#[derive(Debug)]
pub(crate) struct Asked {
    folder: tempfile::TempDir,
    slowest: (Duration, String),
}

impl Asked {
    /// With a folder of its own, in memory where there is such a place.
    pub(crate) fn new() -> Self {
        let memory = PathBuf::from("/dev/shm");
        let folder = tempfile::tempdir_in(if memory.is_dir() {
            memory
        } else {
            std::env::temp_dir()
        });
        Self {
            folder: folder.expect("a folder"),
            slowest: Default::default(),
        }
    }

    /// The answer that took longest, and how long.
    pub(crate) fn slowest(&self) -> &(Duration, String) {
        &self.slowest
    }

    /// Every answer to a description; whether it makes an engine.
    pub(crate) fn description(&mut self, bytes: &[u8]) -> bool {
        let (engine, seen) = (
            self.file("engine.ron", bytes),
            self.file("seen.ron", SEEN.as_bytes()),
        );
        let may_say_nan = says_nan(bytes);
        for command in OF_ANY_TEXT {
            self.command(command, &engine, &seen, may_say_nan);
        }
        let Ok(text) = str::from_utf8(bytes) else {
            return false;
        };
        let Some(read) = read::engine(text).engine else {
            return false;
        };
        for command in OF_AN_ENGINE {
            self.command(command, &engine, &seen, may_say_nan);
        }
        self.timed("the views", || views(&read));
        // A PDF takes as long as all the rest: one text in eight is put on paper.
        if bytes.len().is_multiple_of(8) {
            self.timed("the pages", || pages(&read));
        }
        self.timed("the layout", || layout(&read));
        self.timed("the questions", || questions(&read));
        self.timed("the document", || document(text));
        true
    }

    /// Every answer to sightings of a built-in engine; whether they could be used.
    pub(crate) fn sightings(&mut self, scene: &str, bytes: &[u8]) -> bool {
        let seen = self.file("seen.ron", bytes);
        let may_say_nan = says_nan(bytes);
        [
            "diagnose ENGINE SEEN",
            "diagnose ENGINE SEEN --json",
            "prove ENGINE SEEN",
        ]
        .map(|command| self.command(command, scene, &seen, may_say_nan))
        .contains(&true)
    }

    /// Every answer to a table of lifts of a built-in engine; whether it could be used.
    pub(crate) fn table(&mut self, scene: &str, bytes: &[u8]) -> bool {
        let table = self.file("table.csv", bytes);
        let may_say_nan = says_nan(bytes);
        [
            "degree ENGINE --table SEEN",
            "degree ENGINE --table SEEN --json",
        ]
        .map(|command| self.command(command, scene, &table, may_say_nan))
        .contains(&true)
    }

    fn file(&self, name: &str, bytes: &[u8]) -> String {
        let path = self.folder.path().join(name);
        fs::write(&path, bytes).expect("written");
        path.to_string_lossy().into_owned()
    }

    /// Whether there was an answer.
    fn command(&mut self, command: &str, engine: &str, seen: &str, may_say_nan: bool) -> bool {
        let words = command.split(' ').map(|word| match word {
            "ENGINE" => engine,
            "SEEN" => seen,
            word => word,
        });
        let line = CommandLine::try_parse_from(std::iter::once("dotwise").chain(words))
            .unwrap_or_else(|error| panic!("{command}: {error}"));
        let answer = self.timed(command, || line.run(Terminal::default()));
        let Ok(answer) = answer else {
            return false;
        };
        let out = str::from_utf8(&answer.out).expect("text");
        if command.contains("--json") {
            let json = serde_json::from_str::<serde_json::Value>(out);
            assert!(json.is_ok(), "{command}: {json:?}");
        }
        // What is written as too large a number is found fault with as what it reads as.
        let may_say_nan = may_say_nan || out.contains("NotANumber");
        let is_number = |word: &str| !matches!(word, "NaN" | "inf");
        let words = || out.split(|letter: char| !letter.is_alphanumeric());
        assert!(
            may_say_nan || words().all(is_number),
            "{command} says what is no number"
        );
        true
    }

    /// Does a thing, which may not take too long.
    fn timed<T>(&mut self, what: &str, work: impl FnOnce() -> T) -> T {
        let start = at_work();
        let done = work();
        let took = at_work().saturating_sub(start);
        assert!(took <= LONGEST, "{what} took {took:?}");
        if took > self.slowest.0 {
            self.slowest = (took, what.to_owned());
        }
        done
    }
}

/// How long this thread has been at work, whatever other programs were at meanwhile; by the clock
/// where the system does not tell.
fn at_work() -> Duration {
    static START: LazyLock<Instant> = LazyLock::new(Instant::now);
    let told = fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|told| told.split(' ').next()?.parse().ok());
    nanoseconds.map_or_else(|| START.elapsed(), Duration::from_nanos)
}

/// Whether a text has the words for what is no number itself, in a name it may be.
fn says_nan(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes).to_lowercase();
    text.contains("nan") || text.contains("inf")
}

/// Every flat view, still and at some crank angles, as SVG.
fn views(engine: &Arc<Engine>) {
    let phasing = Phasing::as_drawn(engine);
    let first = phasing.cylinders()[0].number;
    let views: [Option<Box<dyn View>>; 7] = [
        Cap::new(&phasing).map(|view| Box::new(view) as Box<dyn View>),
        DegreeWheel::new(&phasing, first).map(|view| Box::new(view) as Box<dyn View>),
        Some(Box::new(GearFace::new(&phasing))),
        LiftCurves::new(&phasing, first).map(|view| Box::new(view) as Box<dyn View>),
        Some(Box::new(StrokeRibbon::new(&phasing))),
        Some(Box::new(FromTheFront::new(&phasing))),
        Some(Box::new(AlongTheCrank::new(&phasing))),
    ];
    for view in views.into_iter().flatten() {
        for crank in [0.0, 211.0, 719.9] {
            drawn(&view.at(&phasing.at(CrankAngle::new(crank))));
        }
    }
}

fn drawn(drawing: &Drawing) {
    let svg = svg::document(drawing, svg::Colours::Paper);
    assert!(!svg.contains("NaN"), "{}: no number", drawing.title);
}

/// Every sheet, as PDF and HTML.
fn pages(engine: &Arc<Engine>) {
    let phasing = Phasing::as_drawn(engine);
    if let Ok(pages) = sheet::pages(&phasing, &SheetOptions::default()) {
        html::document("any", &pages);
        pdf::document("any", &pages).expect("a PDF");
    }
}

/// The parts as bodies, where they stand at some crank angles.
fn layout(engine: &Arc<Engine>) {
    let phasing = Phasing::as_drawn(engine);
    let _ = Layout::of(engine);
    for turned in [-1e6, 0.0, 333.3, 1e6] {
        let _ = Pose::at(&phasing, turned);
    }
}

/// A question of each kind.
fn questions(engine: &Arc<Engine>) {
    for (seed, kind) in (0..).zip(QuestionKind::ALL) {
        let _ = Quiz::begin(engine, &[kind], seed);
    }
}

/// The text with a value changed in it, as the editor writes it, reads as what it was changed to.
fn document(text: &str) {
    let mut document = Document::open(None, text).expect("an engine");
    let mut description = document.description().clone();
    description.name = "Another name".to_owned();
    document.edit(description.clone(), "name", 0.0);
    let written = document.text().expect("a text");
    assert_eq!(read::engine(&written).description, Some(description));
}
