//! Every field of a description, each once: its path, what it holds, its legal range, its default
//! and the words for it.
//!
//! A row feeds the check, its message, the editor's field and the tests. Lengths are in millimetres
//! here; a file in inches is held to the same lengths. The ends of the ranges are generous (a model
//! engine, a ship's engine): they keep out slips of the pen, not unusual engines.

use super::walk::{Item, Place, Walk};
use super::{Description, SecondIgnition};
use crate::words::Units;

/// What a number counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// A length, in the file's units in the file and in millimetres in the table.
    Length,
    /// Degrees.
    Degrees,
    /// Teeth on a wheel.
    Teeth,
    /// Turns a minute.
    Rpm,
    /// Teeth for each inch of pitch diameter.
    TeethPerInch,
    /// Kilopascals.
    Kilopascals,
    /// Inches of mercury, conventional, at 0 °C.
    InchesOfMercury,
    /// Torque, in newton metres in the table.
    Torque,
    /// Torque, in the unit of the torque beside it.
    TorquesOwn,
    /// A bare count.
    Count,
}

/// The legal range of a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// What the number counts.
    pub unit: Unit,
    /// The least allowed.
    pub least: f64,
    /// The most allowed.
    pub most: f64,
}

/// What a field holds.
#[derive(Clone, Copy, Debug)]
pub enum Kind {
    /// A number.
    Number(Range),
    /// One of these words.
    Word(&'static [&'static str]),
    /// One of these words, one or all of which take a number.
    WordWithNumber(&'static [&'static str], Range),
    /// Text in quotation marks.
    Text {
        /// Characters at most.
        most: usize,
    },
    /// `true` or `false`.
    YesOrNo,
    /// The number of a cylinder.
    Cylinder,
    /// A part with fields of its own.
    Part,
    /// A list.
    List {
        /// What each item is.
        of: Items,
        /// Items at most.
        most: usize,
        /// What the items are called together.
        called: &'static str,
    },
}

/// What each item of a list is.
#[derive(Clone, Copy, Debug)]
pub enum Items {
    /// A number.
    Numbers(Range),
    /// The number of a cylinder.
    Cylinders,
    /// One of these words.
    Words(&'static [&'static str]),
    /// A list of its own.
    Lists,
    /// A part with fields of its own.
    Parts,
}

/// What holds where a field is left out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Absent {
    /// It cannot be left out.
    Required,
    /// Nothing: no such part, an empty list, an empty text, a number not known.
    Nothing,
    /// This number.
    Value(f64),
    /// This word.
    Word(&'static str),
    /// What is worked out from other fields, as said here.
    WorkedOut(&'static str),
}

/// One field of a file.
#[derive(Clone, Copy, Debug)]
pub struct Field {
    /// Its path in the file; `[]` stands for any item of a list.
    pub path: &'static str,
    /// What it holds.
    pub kind: Kind,
    /// What holds where it is left out.
    pub absent: Absent,
    /// What the editor calls it; blank where the editor shows its fields alone.
    pub label: &'static str,
    /// What it is; of a list of numbers, what each is.
    pub what: &'static str,
    /// How it is found or measured on an engine, in a sentence; blank in the table of sightings,
    /// which are what is found.
    pub found: &'static str,
}

/// Cylinders at most.
pub const MOST_CYLINDERS: usize = 24;
/// Marks at most.
pub const MOST_MARKS: usize = 24;
pub(crate) const MOST_IDLERS: usize = 4;
/// Camshafts at most: two over each bank of a vee.
pub const MOST_CAMSHAFTS: usize = 4;
/// Points of an advance curve at most.
const MOST_POINTS: usize = 100;
/// Points of a lobe as measured at most: more than one a degree.
pub(crate) const MOST_LIFTS: usize = 400;
/// Characters of a name or a line at most: more than fits a line of any sheet.
const LONGEST_LINE: usize = 200;
/// Characters of a camshaft's name at most: it stands within sentences.
const LONGEST_CAMSHAFT_NAME: usize = 40;
/// Characters of the notes at most: a page.
const LONGEST_NOTES: usize = 4000;
/// The builder's own steps at most.
const MOST_STEPS: usize = 200;
/// Passes in which a step is tightened at most.
const MOST_PASSES: usize = 8;
/// Fasteners of a step at most.
pub const MOST_FASTENERS: usize = 40;
/// Fasteners of a row, and rows of them, at most: more than that has no room across a sheet.
const MOST_ABREAST: usize = 12;

use Absent::{Nothing, Required, Value, Word, WorkedOut};
use Items::{Cylinders, Lists, Numbers, Parts, Words};
use Unit::{
    Count, Degrees, InchesOfMercury, Kilopascals, Length, Rpm, Teeth, TeethPerInch, Torque,
    TorquesOwn,
};

/// Which way a shaft turns.
const DIRECTIONS: &[&str] = &["Clockwise", "CounterClockwise"];

/// Every field of a description, part by part.
#[rustfmt::skip]
pub static FIELDS: &[Field] = &[
    // The engine.
    number("format", (Count, 1.0, 1.0), Required, "", "the version of this format")
        .found("Write 1: it is the only one there is."),
    text("name", LONGEST_LINE, Required, "Name", "what the builder calls the engine")
        .found("Whatever you call it: it heads every answer and sheet."),
    text("notes", LONGEST_NOTES, Nothing, "Notes", "anything worth keeping with it")
        .found("Write where each figure came from, and what is still to be measured."),
    word("units", &["Millimetres", "Inches"], Word("Millimetres"), "Lengths in",
        "what the lengths are given in")
        .found("Choose what your calipers and micrometers read in; every length in the file is \
            then in it."),
    word("case", &["Split", "OneBlock"], Nothing, "Case",
        "two halves that part along the crankshaft, or one block")
        .found("Look at the bottom end: a case that parts along the crankshaft is split; a block \
            with caps over the main bearings is one block."),
    word("oil_pump", &["DrivenBy"], Nothing, "", "what turns the oil pump")
        .found("Look where the pump's shaft goes; leave it out where the pump is not in the way of \
            anything."),
    word("oil_pump.0", &["DistributorDrive", "Camshaft", "Crankshaft"], Required, "Oil pump on",
        "the shaft that turns the oil pump")
        .found("Look down the distributor's hole with its drive out: a slot at the bottom is the \
            pump's, and the drive turns it; else follow the pump's shaft to camshaft or crank."),
    number("bore", (Length, 5.0, 2000.0), Required, "Bore", "the cylinder's bore")
        .found("Measure across the cylinder with a bore gauge, or across the piston's crown with \
            calipers and add its clearance."),
    number("rod_length", (Length, 5.0, 10_000.0), Required, "Rod, centre to centre",
        "the rod, centre to centre")
        .found("Measure between the bores, from the big end's nearest edge to the small end's, \
            and add half of each bore; or take it from the maker's data."),
    number("pin_offset", (Length, -100.0, 100.0), Value(0.0), "Gudgeon pin offset",
        "the gudgeon pin's offset")
        .found("Measure from the gudgeon pin to the piston's skirt on both sides: half the \
            difference, positive where the pin lies nearer the major thrust side; 0 for most \
            engines."),
    number("pulley_diameter", (Length, 10.0, 10_000.0), Nothing, "Pulley diameter",
        "the pulley's diameter")
        .found("Measure across the rim of the crank's pulley, where the timing marks are to go."),

    // The crankshaft.
    part("crankshaft", Required, "", "the crank and its throws")
        .found("Look at the crank with the sump off, or in the maker's data."),
    word("crankshaft.rotation", DIRECTIONS, Word("Clockwise"), "Turns, from the front",
        "which way it runs, seen from the front")
        .found("Look from the end away from the flywheel while the engine is turned the way the \
            starter turns it."),
    number("crankshaft.stroke", (Length, 5.0, 4000.0), Required, "Stroke",
        "twice the throw radius")
        .found("Measure how far a piston goes from top to bottom with a depth gauge, or twice \
            from the main journal's centre to the crankpin's."),
    list("crankshaft.throws", Parts, MOST_CYLINDERS, "throws", Required, "throw",
        "the throws, front to back")
        .found("Count the crankpins from the front; rods that share a pin share a throw."),
    number("crankshaft.throws[].angle", (Degrees, -360.0, 360.0), Required, "throw's angle",
        "the throw, clockwise from No. 1's")
        .found("Turn No. 1's throw straight up and see where this one stands, clockwise from it, \
            seen from the front."),
    list("crankshaft.throws[].cylinders", Cylinders, MOST_CYLINDERS, "cylinders", Required,
        "throw's cylinders", "the cylinders whose rods share it")
        .found("Follow the rods from the pin up to their cylinders."),

    // Cylinders and firing.
    list("banks", Parts, MOST_CYLINDERS, "banks", Required, "bank", "the rows of cylinders")
        .found("One row for an engine in line, two for a vee or a flat engine."),
    number("banks[].angle", (Degrees, -360.0, 360.0), Required, "bank's angle",
        "the cylinders' axis, clock degrees from straight up")
        .found("Look from the front: 0 straight up, positive clockwise; the sides of a flat \
            engine lie at 90 and −90, those of a 90° vee at 45 and −45."),
    list("banks[].cylinders", Cylinders, MOST_CYLINDERS, "cylinders", Required,
        "bank's cylinders", "its cylinders")
        .found("Take the numbers from the maker's manual, or from the leads."),
    list("firing_order", Cylinders, MOST_CYLINDERS, "cylinders", Required, "Firing order",
        "the cylinders in the order they fire, No. 1 first")
        .found("Read it from the manifold, the valve cover or the manual, or find it with a \
            thumb over each plug hole (`dotwise order`)."),
    list("firing_angles", numbers_of(Degrees, 0.0, 720.0), MOST_CYLINDERS, "firing angles",
        WorkedOut("each cylinder's first TDC after the firing before it"),
        "Firing angles given, where the order alone is ambiguous",
        "the crank angle at which a cylinder fires")
        .found("Find each TDC with a positive stop and a degree wheel, or take them from the \
            maker; needed only where two cylinders could fire in either turn."),

    // The cam drive.
    part("cam_drive", Required, "", "what drives the camshaft")
        .found("Look behind the timing cover."),
    word("cam_drive.kind", &["Gears", "Chain", "Belt"], Required, "Driven by",
        "gears, chain or belt")
        .found("Look behind the timing cover: wheel on wheel, a chain, or a toothed belt."),
    number("cam_drive.crank_teeth", (Teeth, 6.0, 400.0), Required, "Crank's wheel",
        "teeth on the crank's wheel")
        .found("Count the teeth of the wheel on the crankshaft, a chalk mark on the first."),
    number("cam_drive.cam_teeth", (Teeth, 6.0, 400.0), Required, "Camshaft's wheel",
        "teeth on the camshaft's wheel")
        .found("Count the teeth of the wheel on the camshaft: twice the crank's."),
    list("cam_drive.idler_teeth", numbers_of(Teeth, 6.0, 400.0), MOST_IDLERS, "idler gears",
        Nothing, "Idlers, crank first", "teeth on the idler")
        .found("Count the teeth of each gear between crank and camshaft, from the crank on. A \
            chain's or belt's tensioner and guide wheels turn nothing about: leave them out."),
    number("cam_drive.marks_meet_at", (Degrees, -720.0, 720.0), Value(0.0), "Marks meet at",
        "the crank angle at which the marks meet")
        .found("Bring the dots together and read on a degree wheel how far No. 1 is past its \
            firing TDC; 360 where they meet on its overlap."),
    number("cam_drive.module", (Length, 0.1, 50.0), Nothing, "Module",
        "pitch diameter over teeth, where `diametral_pitch` is not given")
        .found("Measure across a gear's tips and divide by its teeth plus two; or take it from \
            the maker."),
    number("cam_drive.diametral_pitch", (TeethPerInch, 0.5, 254.0), Nothing, "Diametral pitch",
        "teeth over pitch diameter in inches, where `module` is not given")
        .found("Measure across a gear's tips in inches and divide its teeth plus two by that; or \
            take it from the maker."),
    number("cam_drive.pitch", (Length, 1.0, 100.0), Nothing, "Chain's or belt's pitch",
        "from one pin of the chain, or tooth of the belt, to the next")
        .found("Measure over ten links from pin to pin, or over ten belt teeth, and divide by \
            ten; 9.525 mm (3/8 in) and 8 mm are common chains."),
    number("cam_drive.links_between_marks", (Count, 1.0, 400.0), Nothing, "Links between marks",
        "links of the chain, or teeth of the belt, from the crank wheel's mark to the camshaft \
            wheel's")
        .found("Take it from the manual, or count along the side named below, with both marks \
            where they belong: the link on the crank wheel's mark is 0."),
    word("cam_drive.counted_on", &["TightSide", "SlackSide"], Word("TightSide"), "Counted on",
        "the side on which those links are counted")
        .found("The crank pulls the tight side, which runs straight; the slack side has the \
            tensioner."),
    number("cam_drive.backlash", (Length, 0.0, 5.0), Nothing, "Backlash",
        "play at the pitch circle")
        .found("Hold the crank's wheel and rock the camshaft's with a dial on a tooth, or put a \
            feeler between the teeth; with a chain or belt, how far a tooth of the camshaft's \
            wheel moves with the crank held: its slack."),
    number("cam_drive.cam_at", (Degrees, -360.0, 360.0),
        WorkedOut("as its mark needs it, else beside the cylinders or in the valley of a wide vee"),
        "Camshaft lies at", "where the camshaft lies from the crankshaft")
        .found("Look from the front for the camshaft's centre: 0 straight above the crank's, \
            clockwise. It is for the model only."),

    // The camshafts.
    list("camshafts", Parts, MOST_CAMSHAFTS, "camshafts",
        WorkedOut("one camshaft that works every valve"), "camshaft",
        "the camshafts, where there are several")
        .found("Look under the valve covers: list the camshafts where there are two or more, the \
            one that drives the distributor first."),
    text("camshafts[].name", LONGEST_CAMSHAFT_NAME, Required, "camshaft's name",
        "what the builder calls the camshaft")
        .found("Whatever you call it, each by a name of its own: intake cam, exhaust cam."),
    list("camshafts[].works", Words(&["Intake", "Exhaust"]), 2, "kinds of valve", Required,
        "camshaft works", "the kinds of valve it works")
        .found("Follow its lobes to the valves: those on the manifold's side are intake valves, \
            those on the exhaust pipe's exhaust valves."),
    list("camshafts[].banks", numbers_of(Count, 1.0, MOST_CYLINDERS as f64), MOST_CYLINDERS,
        "banks", WorkedOut("every bank"), "camshaft's banks", "a bank over which it works them")
        .found("See over which row of cylinders it lies: 1 is the first in `banks`."),
    number("camshafts[].cam_teeth", (Teeth, 6.0, 400.0),
        WorkedOut("those of `cam_drive.cam_teeth`"), "teeth on its wheel",
        "teeth on this camshaft's wheel")
        .found("Count the teeth of its wheel: twice the crank's."),
    number("camshafts[].trim", (Degrees, -30.0, 30.0), Value(0.0), "set ahead of its wheel by",
        "cam degrees by which a vernier or an offset key sets the camshaft ahead of its wheel")
        .found("Read the vernier, or the maker's figure for the key, in cam degrees: half the \
            crank's; positive where the valves open earlier; 0 for a plain key."),

    // The valves.
    part("valves", Required, "", "the valve events")
        .found("Take the events from the cam card, or find them with a degree wheel and a dial \
            on the valve, its lash taken up."),
    part("valves.intake", WorkedOut("from `card`, where that is given"), "",
        "the intake valve's events and lift")
        .found("Take them from the cam card, intake side: as two angles, or as duration and centre."),
    number("valves.intake.opens_btdc", (Degrees, -180.0, 360.0),
        WorkedOut("from `duration` and `centre`, where those are given"),
        "Intake opens, before TDC", "intake opening before TDC")
        .found("Read it from the cam card, or turn forwards with a dial on the valve and read \
            the wheel where it passes the lift that is quoted; negative after TDC."),
    number("valves.intake.closes_abdc", (Degrees, -180.0, 360.0),
        WorkedOut("from `duration` and `centre`, where those are given"),
        "Intake closes, after BDC", "intake closing after BDC")
        .found("Read it from the cam card, or turn on past full lift and read the wheel where \
            the valve comes back to that lift; negative before BDC."),
    number("valves.intake.duration", (Degrees, 0.0, 720.0),
        WorkedOut("from the two angles, where those are given"), "Intake duration",
        "crank degrees from intake opening to closing, at the lift that is quoted")
        .found("Read it from the cam card; it is opening and closing angle and 180° together."),
    number("valves.intake.centre", (Degrees, 0.0, 210.0),
        WorkedOut("from the two angles, where those are given"), "Intake centre, after TDC",
        "where the intake valve is fully open, after TDC")
        .found("Read it from the cam card, where it may be called the lobe centre or centre line; \
            or read the wheel at equal lifts going up and coming down: it is midway."),
    number("valves.intake.lift", (Length, 0.1, 200.0),
        WorkedOut("from `card`, where that is given"), "Intake lift",
        "full lift at the intake valve")
        .found("Put a dial on the valve's retainer, its lash taken up, and turn from shut to \
            fully open."),
    number("valves.intake.quoted_at", (Length, 0.0, 50.0),
        WorkedOut("`valves.quoted_at`"), "Intake quoted at a lift of",
        "the lift at which the intake valve's events are quoted, where the other's are not")
        .found("Look on the cam card: it says so where intake and exhaust are quoted at \
            different lifts."),
    part("valves.intake.also_at", Nothing, "Intake known at a second lift",
        "the intake valve's events at another lift, which fix the ramps")
        .found("Many cards give two durations, advertised and at 0.050 in or 1 mm: write one as \
            the events and the other here."),
    number("valves.intake.also_at.lift", (Length, 0.0, 50.0), Required, "Intake also at a lift of",
        "the lift of the intake valve's second pair")
        .found("Read it from the cam card, or choose it: well over the lift of the first pair, \
            such as 1 mm or 0.050 in."),
    number("valves.intake.also_at.opens_btdc", (Degrees, -180.0, 360.0), Nothing,
        "Intake passes it, before TDC", "where the intake valve passes that lift, before TDC")
        .found("Turn forwards with a dial on the valve and read the wheel where it passes that \
            lift; negative after TDC."),
    number("valves.intake.also_at.closes_abdc", (Degrees, -180.0, 360.0), Nothing,
        "Intake is back at it, after BDC", "where the intake valve comes back to that lift, after BDC")
        .found("Turn on past full lift and read the wheel where the valve comes back to that \
            lift; negative before BDC."),
    number("valves.intake.also_at.duration", (Degrees, 0.0, 720.0), Nothing,
        "Intake over it for", "crank degrees for which the intake valve is over that lift")
        .found("Read it from the cam card, where the two angles at that lift are not on it."),
    list("valves.intake.lifts", Parts, MOST_LIFTS, "lifts", Nothing, "intake lift as measured",
        "the intake lobe as measured, from seat to seat; it goes before a card's events")
        .found("Read the dial on the intake valve every 5° or 10° of crank from where it is shut to \
            where it is shut again, and write `[(330, 0), (340, 0.04), …]`; `dotwise degree` \
            with `--table` writes this list."),
    number("valves.intake.lifts[].0", (Degrees, -360.0, 1080.0), Required, "crank degrees",
        "crank degrees past the cylinder's firing TDC, 360 at its overlap TDC")
        .found("Read the degree wheel, zeroed at No. 1's overlap TDC, and add 360: about 330 to 600."),
    number("valves.intake.lifts[].1", (Length, 0.0, 200.0), Required, "lift",
        "the intake's lift there, where lifts are measured")
        .found("Read the dial, set to 0 on the base circle; the first and the last lift are 0."),
    part("valves.exhaust", WorkedOut("from `card`, where that is given"), "",
        "the exhaust valve's events and lift")
        .found("Take them from the cam card, exhaust side: as two angles, or as duration and centre."),
    number("valves.exhaust.opens_bbdc", (Degrees, -180.0, 360.0),
        WorkedOut("from `duration` and `centre`, where those are given"),
        "Exhaust opens, before BDC", "exhaust opening before BDC")
        .found("Read it from the cam card, or turn forwards with a dial on the valve and read \
            the wheel where it passes the lift that is quoted; negative after BDC."),
    number("valves.exhaust.closes_atdc", (Degrees, -180.0, 360.0),
        WorkedOut("from `duration` and `centre`, where those are given"),
        "Exhaust closes, after TDC", "exhaust closing after TDC")
        .found("Read it from the cam card, or turn on past full lift and read the wheel where \
            the valve comes back to that lift; negative before TDC."),
    number("valves.exhaust.duration", (Degrees, 0.0, 720.0),
        WorkedOut("from the two angles, where those are given"), "Exhaust duration",
        "crank degrees from exhaust opening to closing, at the lift that is quoted")
        .found("Read it from the cam card; it is opening and closing angle and 180° together."),
    number("valves.exhaust.centre", (Degrees, 0.0, 210.0),
        WorkedOut("from the two angles, where those are given"), "Exhaust centre, before TDC",
        "where the exhaust valve is fully open, before TDC")
        .found("Read it from the cam card, where it may be called the lobe centre or centre line; \
            or read the wheel at equal lifts going up and coming down: it is midway."),
    number("valves.exhaust.lift", (Length, 0.1, 200.0),
        WorkedOut("from `card`, where that is given"), "Exhaust lift",
        "full lift at the exhaust valve")
        .found("Put a dial on the valve's retainer, its lash taken up, and turn from shut to \
            fully open."),
    number("valves.exhaust.quoted_at", (Length, 0.0, 50.0),
        WorkedOut("`valves.quoted_at`"), "Exhaust quoted at a lift of",
        "the lift at which the exhaust valve's events are quoted, where the other's are not")
        .found("Look on the cam card: it says so where intake and exhaust are quoted at \
            different lifts."),
    part("valves.exhaust.also_at", Nothing, "Exhaust known at a second lift",
        "the exhaust valve's events at another lift, which fix the ramps")
        .found("Many cards give two durations, advertised and at 0.050 in or 1 mm: write one as \
            the events and the other here."),
    number("valves.exhaust.also_at.lift", (Length, 0.0, 50.0), Required, "Exhaust also at a lift of",
        "the lift of the exhaust valve's second pair")
        .found("Read it from the cam card, or choose it: well over the lift of the first pair, \
            such as 1 mm or 0.050 in."),
    number("valves.exhaust.also_at.opens_bbdc", (Degrees, -180.0, 360.0), Nothing,
        "Exhaust passes it, before BDC", "where the exhaust valve passes that lift, before BDC")
        .found("Turn forwards with a dial on the valve and read the wheel where it passes that \
            lift; negative after BDC."),
    number("valves.exhaust.also_at.closes_atdc", (Degrees, -180.0, 360.0), Nothing,
        "Exhaust is back at it, after TDC", "where the exhaust valve comes back to that lift, after TDC")
        .found("Turn on past full lift and read the wheel where the valve comes back to that \
            lift; negative before TDC."),
    number("valves.exhaust.also_at.duration", (Degrees, 0.0, 720.0), Nothing,
        "Exhaust over it for", "crank degrees for which the exhaust valve is over that lift")
        .found("Read it from the cam card, where the two angles at that lift are not on it."),
    list("valves.exhaust.lifts", Parts, MOST_LIFTS, "lifts", Nothing, "exhaust lift as measured",
        "the exhaust lobe as measured, from seat to seat; it goes before a card's events")
        .found("Read the dial on the exhaust valve every 5° or 10° of crank from where it is shut to \
            where it is shut again, and write `[(110, 0), (120, 0.04), …]`; `dotwise degree` \
            with `--table` writes this list."),
    number("valves.exhaust.lifts[].0", (Degrees, -360.0, 1080.0), Required, "crank degrees",
        "crank degrees past the cylinder's firing TDC, 360 at its overlap TDC")
        .found("Read the degree wheel, zeroed at No. 1's overlap TDC, and add 360: about 110 to 390."),
    number("valves.exhaust.lifts[].1", (Length, 0.0, 200.0), Required, "lift",
        "the exhaust's lift there, where lifts are measured")
        .found("Read the dial, set to 0 on the base circle; the first and the last lift are 0."),
    part("valves.card", Nothing, "Events given as", "both valves' events and lifts, as a cam card gives them")
        .found("Write it instead of `intake` and `exhaust` where the card gives durations, \
            separation and the intake's centre."),
    number("valves.card.intake_duration", (Degrees, 0.0, 720.0), Nothing, "Intake duration",
        "crank degrees for which the intake valve is open, at the lift that is quoted")
        .found("Read it from the cam card, at the lift that goes into `quoted_at`."),
    number("valves.card.exhaust_duration", (Degrees, 0.0, 720.0), Nothing, "Exhaust duration",
        "crank degrees for which the exhaust valve is open, at the lift that is quoted")
        .found("Read it from the cam card, at the lift that goes into `quoted_at`."),
    number("valves.card.separation", (Degrees, 60.0, 160.0), Nothing, "Lobe separation",
        "between the lobes' centres, degrees of cam")
        .found("Read it from the cam card, where it may be called lobe separation or lobe centre \
            angle; half of both centres together."),
    number("valves.card.intake_centre", (Degrees, 0.0, 210.0), Nothing,
        "Intake centre, after TDC", "where the intake valve is fully open, after TDC")
        .found("Read it from the cam card; with the camshaft straight up it is the separation, \
            and less by as much as the camshaft is advanced."),
    number("valves.card.intake_lift", (Length, 0.1, 200.0), Nothing, "Intake lift",
        "full lift at the intake valve")
        .found("Read it from the cam card, and see whether it is the valve's or the tappet's."),
    number("valves.card.exhaust_lift", (Length, 0.1, 200.0), Nothing, "Exhaust lift",
        "full lift at the exhaust valve")
        .found("Read it from the cam card, and see whether it is the valve's or the tappet's."),
    number("valves.quoted_at", (Length, 0.0, 50.0), Value(0.0), "Events quoted at a lift of",
        "the lift at which events are quoted")
        .found("Look on the cam card: 'advertised' or 'seat to seat' is 0; others quote at 1 mm \
            or at 0.050 in."),
    word("valves.measured_at", &["Valve", "Tappet"], Word("Valve"), "Lifts measured at",
        "where lifts, and the lift at which events are quoted, were measured")
        .found("See where the dial stood, or what the card says: many give the lift at the \
            tappet, which the rocker multiplies."),
    number("valves.rocker_ratio", (Count, 0.5, 3.0), Nothing, "Rocker ratio",
        "how far the valve moves for each length its tappet moves")
        .found("Put one dial on the tappet or push rod and one on the valve: the valve's lift \
            over the tappet's; 1 where the lobe works the valve directly."),
    part("valves.lash", Nothing, "The gap at the valves is known",
        "the gaps that are set at the valves, with the valve shut")
        .found("Look in the maker's manual, or on a plate on the engine; leave it out with \
            hydraulic lifters, which have none."),
    number("valves.lash.intake", (Length, 0.0, 3.0), Required, "Gap at the intake",
        "the gap that is left at each intake valve, measured at the valve")
        .found("Take it from the maker's manual; a feeler goes between the valve's stem and what \
            pushes it."),
    number("valves.lash.exhaust", (Length, 0.0, 3.0), Required, "Gap at the exhaust",
        "the gap that is left at each exhaust valve, measured at the valve")
        .found("Take it from the maker's manual; a feeler goes between the valve's stem and what \
            pushes it."),
    word("valves.lash.at", &["Cold", "Hot"], Required, "Set with the engine",
        "whether the engine is cold or hot when the gaps are set")
        .found("Read it beside the gaps: hot ones are smaller or larger by what the engine grows."),
    word("valves.adjusters", &["Screw", "Shim", "Hydraulic"], Word("Screw"), "Valves are set by",
        "what the gap at a valve is set by")
        .found("Look at the rockers or tappets: a screw with its locknut, a disc of metal, or \
            nothing at all where oil takes up the play."),
    number("valves.adjusters.preload_turns", (Count, 0.0, 4.0), Required,
        "Turns past zero lash", "turns of the adjuster past zero lash, with hydraulic lifters")
        .found("Take it from the maker's manual; a quarter turn to a whole one is usual. 0 where \
            the rocker cannot be adjusted."),
    word("valves.lobe", &["Polynomial"], Word("Polynomial"), "", "the lift law")
        .found("Nothing need be found: it is the one law there is."),
    word("valves.gear", &["PushRod", "Overhead"],
        WorkedOut("overhead on a belt, or on a chain with one bank; else push rods"), "Valve gear",
        "how lobe and valve are joined")
        .found("Look under the valve cover: push rods and rockers, or the camshaft itself. It is \
            for the model only."),
    part("valves.follower", WorkedOut(
            "a flat tappet under push rods, a finger under a camshaft over the valves"),
        "What rides on the lobes is known",
        "what rides on the lobes, for the model only")
        .found("Look at what touches the lobe. Where it is left out, push rods are drawn with flat \
            tappets and camshafts over the valves with fingers."),
    word("valves.follower.kind", &["Flat", "Roller", "Finger"], Required, "Rides on the lobe",
        "flat, a roller, or a finger")
        .found("A flat tappet, a roller, or a finger that swings about its pivot, with a pad or a \
            roller of its own."),
    number("valves.follower.radius", (Length, 0.5, 200.0),
        WorkedOut("a tenth of the bore"), "Roller or pad radius",
        "the radius of the roller, or of the finger's pad or roller")
        .found("Measure across the roller and halve it, or lay radius gauges on the pad; a flat \
            face has none."),
    number("valves.follower.length", (Length, 5.0, 1000.0),
        WorkedOut("three tenths of the bore"), "Finger's length",
        "from the finger's pivot to the centre of its pad or roller")
        .found("Measure from the middle of the pivot to the middle of the pad or roller; other \
            followers have none."),

    // The distributor.
    part("distributor", Nothing, "The engine has a distributor", "the distributor")
        .found("Leave it out where the engine has none."),
    word("distributor.driven_by", &["Camshaft", "Crankshaft"], Required, "Driven by",
        "the shaft that drives it")
        .found("See which shaft's gear or slot its drive goes into."),
    text("distributor.camshaft", LONGEST_CAMSHAFT_NAME, WorkedOut("the first of `camshafts`"),
        "By the camshaft", "the camshaft that drives it, by its name")
        .found("Of several camshafts, see which one's gear or slot its drive goes into."),
    number("distributor.driver_teeth", (Teeth, 6.0, 400.0), Required, "Teeth on that shaft",
        "teeth on the driving shaft")
        .found("Count the teeth of the gear that drives it; with a slot and tongue, those of the \
            gears that drive the slot's shaft, or the same number for both."),
    number("distributor.driven_teeth", (Teeth, 6.0, 400.0), Required, "Teeth on the distributor",
        "teeth on the distributor's shaft")
        .found("Count the teeth of the gear on the distributor's own shaft: as many as drive it \
            from the camshaft, twice as many from the crankshaft."),
    word("distributor.coupling", &["Gear", "OffsetTongue", "CentralTongue"], Word("Gear"),
        "Takes hold by", "how the drive engages")
        .found("Look at the foot of its shaft: a gear, a tongue beside the shaft's centre, or \
            one across the centre."),
    word("distributor.shaft", &["Plain", "Geared"], Word("Plain"), "The tongue's shaft",
        "whether the shaft that the tongue goes into meshes by a gear of its own")
        .found("Lift the distributor off its tongue and look down the hole: a short shaft with a \
            slot that can be drawn out, gear and all, is geared; a slot in the end of the \
            camshaft is plain."),
    number("distributor.slot_at", (Degrees, -360.0, 360.0), Nothing, "Slot stands at",
        "the slot of the geared shaft at No. 1's firing TDC, looking down: its narrow side, or \
        either end of a central one")
        .found("Bring No. 1 to its firing TDC with everything as it should be, lift the \
            distributor off and see where the slot's narrow side points, from the same mark as \
            the cap's clock."),
    word("distributor.rotation", DIRECTIONS, Word("Clockwise"), "Rotor turns, from above",
        "which way the rotor turns, looking down on the cap")
        .found("Take the cap off and look down on the rotor while the engine is turned forwards."),
    number("distributor.number_one_at", (Degrees, -360.0, 360.0), Required, "No. 1's tower at",
        "No. 1's tower, clock degrees looking down on the cap")
        .found("Look down on the cap from above with a mark of your own as 0, and read clockwise \
            to the tower of No. 1's lead."),
    number("distributor.offset", (Degrees, -180.0, 180.0), WorkedOut("half the static advance"),
        "Rotor past it at TDC", "rotor past No. 1's tower at its firing TDC")
        .found("Bring No. 1 to its firing TDC with the distributor in as it should be, and see \
            how far the rotor is past No. 1's tower, the way it turns."),
    number("distributor.turns_on_entry", (Degrees, -360.0, 360.0), Nothing,
        "Turns on going home", "rotor degrees gained as the drive slides home")
        .found("Draw the distributor out and let it down again, and see how far the rotor turns \
            on the way down, clockwise positive."),
    part("distributor.helix", Nothing, "Work that out from the drive's helix instead",
        "the helical drive, where `turns_on_entry` is to be worked out")
        .found("Measure the gear at the foot of the distributor."),
    number("distributor.helix.angle", (Degrees, 0.0, 89.0), Required, "Helix angle",
        "the helix angle")
        .found("Roll the gear over carbon paper and measure the teeth's marks against its axis; \
            45° is common."),
    word("distributor.helix.hand", &["Right", "Left"], Required, "Hand of the helix",
        "a right-hand gear turns the rotor clockwise as it goes down")
        .found("Stand the shaft upright: teeth that rise to the right are right-hand."),
    number("distributor.helix.travel", (Length, 0.1, 500.0), Required, "Slides in mesh",
        "how far the drive slides in mesh")
        .found("Measure how far the shaft still goes down from where the teeth first touch."),
    number("distributor.helix.pitch_diameter", (Length, 1.0, 1000.0), Required,
        "Gear's pitch diameter", "pitch diameter of the distributor's gear")
        .found("Measure across the gear's tips and take off twice the height of a tooth above \
            the middle of its flank."),
    number("distributor.body_range", (Degrees, 0.0, 180.0), Nothing, "Clamp lets it turn",
        "how far the clamp lets the body turn either way")
        .found("Loosen the clamp and see how far the body turns from the middle of its slot to \
            either end."),
    number("distributor.tip_width", (Degrees, 0.1, 90.0), Nothing, "Rotor tip's width",
        "the rotor tip, seen from the shaft")
        .found("Measure the width of the rotor's metal tip and its distance from the shaft's \
            centre: width over distance, times 57.3."),
    number("distributor.tower_width", (Degrees, 0.1, 90.0), Nothing, "Tower's width",
        "the tower's electrode, seen from the shaft")
        .found("Measure the electrode inside the cap in the same way, from the shaft's centre."),

    // The ignition.
    part("ignition", Required, "", "when the sparks come")
        .found("Take it from the manual, or from the distributor's test card."),
    number("ignition.static_advance", (Degrees, -60.0, 90.0), Required, "Static advance",
        "advance at rest, before TDC")
        .found("Read it in the manual as static timing: crank degrees before TDC at which the \
            spark comes with the engine at rest."),
    word("ignition.sparks", &["EveryOtherTurn", "EveryTurn"], Word("EveryOtherTurn"),
        "Each plug sparks", "how often each plug sparks")
        .found("See what times the spark: a distributor or a trigger on the camshaft gives one \
            every other turn, a magneto on the crank or a coil with two leads one every turn, \
            on overlap too."),
    list("ignition.coils", Lists, MOST_CYLINDERS, "coils", Nothing, "coil",
        "the coils of an engine without a distributor, each with the cylinders its leads go to")
        .found("Follow the leads from each coil to the plugs: a coil with two leads has two \
            cylinders that fire 360° apart."),
    list("ignition.coils[]", Cylinders, 2, "cylinders", Nothing, "coil's cylinders",
        "the cylinders that share a coil")
        .found("Follow its leads to the plugs: one or two."),
    list("ignition.centrifugal", Parts, MOST_POINTS, "points", Nothing, "centrifugal point",
        "the bob-weights' advance, by engine speed")
        .found("Take the curve from the distributor's test card; cards that give distributor \
            degrees and speed need both doubled."),
    number("ignition.centrifugal[].rpm", (Rpm, 0.0, 30_000.0), Required, "engine speed",
        "engine speed")
        .found("Read it on the card as engine speed: twice the distributor's."),
    number("ignition.centrifugal[].advance", (Degrees, -30.0, 90.0), Required,
        "centrifugal advance", "centrifugal advance")
        .found("Read it with a strobe at that speed, the vacuum pipe off, and take the static \
            advance off."),
    list("ignition.vacuum", Parts, MOST_POINTS, "points", Nothing, "vacuum point",
        "the capsule's advance, by depression")
        .found("Take the curve from the capsule's test card, or try it with a hand pump and a \
            gauge."),
    number("ignition.vacuum[].kpa", (Kilopascals, 0.0, 110.0), Nothing, "depression",
        "depression, where `inhg` is not given")
        .found("Read it on the pump's gauge, as a depression below the air's pressure."),
    number("ignition.vacuum[].inhg", (InchesOfMercury, 0.0, 32.5), Nothing, "depression",
        "depression, where `kpa` is not given")
        .found("Read it on the pump's gauge, where that is marked in inches of mercury."),
    number("ignition.vacuum[].advance", (Degrees, -30.0, 90.0), Required, "vacuum advance",
        "vacuum advance")
        .found("Read how far the capsule turns its plate, and double it: crank degrees."),

    // A second ignition.
    part("second_ignition", Nothing, "Each cylinder has two plugs, and a second ignition",
        "what gives the second plugs their sparks: a `distributor`, an `ignition`, or both, with \
        the fields of those")
        .found("See whether each cylinder has two plugs with a distributor, a magneto or coils \
            for each. Leave it out where both are fed from one."),

    // The clearance.
    part("clearance", Nothing, "Measured at TDC",
        "how far each valve could be pushed from its seat at TDC")
        .found("Measure it with the head on its gasket and torqued down."),
    number("clearance.intake_drop", (Length, 0.01, 200.0), Required, "Intake could be pushed",
        "intake valve's drop to the piston at TDC")
        .found("With No. 1 at its firing TDC and light springs on the valves, push the intake \
            valve down by hand until it touches the piston, and read the dial."),
    number("clearance.exhaust_drop", (Length, 0.01, 200.0), Required, "Exhaust could be pushed",
        "exhaust valve's drop to the piston at TDC")
        .found("With No. 1 at its firing TDC and light springs on the valves, push the exhaust \
            valve down by hand until it touches the piston, and read the dial."),
    number("clearance.valve_angle", (Degrees, 0.0, 60.0), Value(0.0), "Valves lean by",
        "the valves' lean from the bore")
        .found("Lay a protractor along the valve's stem and along the cylinder, or take it from \
            the maker; 0 where they are parallel."),

    number("clearance.valves_touch_at", (Length, 0.01, 200.0), Nothing, "Valves touch at",
        "lift at which the two valves of a cylinder touch, both pushed down alike")
        .found("With the piston well down and light springs on the valves, push both valves of a \
            cylinder down by hand, alike, until they touch, and read the dial. Leave it out \
            where they lean so that they cannot."),

    // The marks.
    list("marks", Parts, MOST_MARKS, "marks", Nothing, "mark", "the marks the builder can see")
        .found("Look for dots, notches, lines and arrows on pulley, gears and sprockets."),
    field_of("marks[].on",
        Kind::WordWithNumber(
            &["Crankshaft", "Flywheel", "Camshaft", "CamshaftNumber", "Idler"],
            Range { unit: Count, least: 1.0, most: MOST_IDLERS as f64 },
        ),
        Required, "", "the wheel that carries the mark; of several camshafts or idlers, which")
        .found("See which wheel carries it; idlers are counted from the crank, camshafts as they \
            are listed."),
    text("marks[].name", LONGEST_LINE, Required, "what it looks like", "what it looks like")
        .found("Write what you would call it to somebody who looks for it."),
    number("marks[].at", (Degrees, -360.0, 360.0), Required, "mark's place",
        "the mark's clock position at No. 1 firing TDC")
        .found("Bring No. 1 to its firing TDC and see where the mark stands from the wheel's \
            centre, clockwise from straight up, as seen from the front. From the flywheel's end \
            the clock runs the other way round: what stands at 90 there is at 270."),
    number("marks[].pointer_at", (Degrees, -360.0, 360.0),
        WorkedOut("where a flywheel's mark stands at No. 1's TDC"),
        "mark's pointer at",
        "the clock position of the pointer or window at which the mark is read")
        .found("See where the pointer, the line on the case or the window stands from the \
            shaft's centre, clockwise from straight up, as seen from the front: from the \
            flywheel's end write 360 less what you see."),

    // The builder's own steps.
    list("steps", Parts, MOST_STEPS, "steps", Nothing, "line",
        "the builder's own steps, for the job and the assembly sheet")
        .found("Write down what the manual asks for on the way, in the order it is done."),
    text("steps[].do", LONGEST_LINE, Required, "what to do", "what to do")
        .found("Take it from the manual."),
    field_of("steps[].torque",
        Kind::WordWithNumber(
            &["NewtonMetres", "PoundFeet", "PoundInches"],
            Range { unit: Torque, least: 0.1, most: 10_000.0 },
        ),
        Nothing, "", "a tightening torque")
        .found("Take it from the manual, in the unit that stands there."),
    list("steps[].passes", numbers_of(TorquesOwn, 0.1, 10_000.0), MOST_PASSES, "passes", Nothing,
        "in passes", "the torque of a pass, in the torque's unit; each more than the one before, the last the \
        torque itself")
        .found("Take them from the manual; where it gives none, a third, two thirds and the whole is \
            usual."),
    number("steps[].angle", (Degrees, 1.0, 360.0), Nothing, "then turned on by",
        "how far each fastener is turned on after the last pass")
        .found("Take it from the manual, which then says whether the fasteners may be used again."),
    text("steps[].after", LONGEST_LINE, WorkedOut("at the end of the job"), "comes after",
        "the step of the job after which it comes, by its key or its title")
        .found("Run `dotwise job` on the engine: each step's key stands beside its title."),
    list("steps[].sequence", numbers_of(Count, 1.0, MOST_FASTENERS as f64), MOST_FASTENERS, "fasteners",
        Nothing, "tightened in this order",
        "a fastener; numbered from 1, in the order in which they are tightened")
        .found("Number the fasteners on a sketch, and write the numbers in the order that the manual \
            has; without one, from the middle outwards, crosswise."),
    list("steps[].rows", Lists, MOST_ABREAST, "rows", Nothing, "as they lie",
        "where the fasteners lie, row under row as you look on the part, to have the sequence drawn so")
        .found("Lay the sketch before you as you will stand at the bench, and write its rows from the \
            top down: a head with two rows of five is [[9, 5, 1, 3, 7], [10, 6, 2, 4, 8]] where the \
            manual numbers the bolts in their order."),
    list("steps[].rows[]", numbers_of(Count, 0.0, MOST_FASTENERS as f64), MOST_ABREAST, "fasteners",
        Nothing, "row",
        "a fastener of this row, from left to right, by its number; 0 is a place without one")
        .found("Read the row off the sketch; write a 0 where nothing is screwed in, so that the others \
            stand in their columns."),
];

/// A row of any kind.
pub(crate) const fn field_of(
    path: &'static str,
    kind: Kind,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    Field {
        path,
        kind,
        absent,
        label,
        what,
        found: "",
    }
}

/// A row for a number.
pub(crate) const fn number(
    path: &'static str,
    (unit, least, most): (Unit, f64, f64),
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    let range = Range { unit, least, most };
    field_of(path, Kind::Number(range), absent, label, what)
}

/// A row for a word.
pub(crate) const fn word(
    path: &'static str,
    words: &'static [&'static str],
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::Word(words), absent, label, what)
}

/// A row for a list.
pub(crate) const fn list(
    path: &'static str,
    of: Items,
    most: usize,
    called: &'static str,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::List { of, most, called }, absent, label, what)
}

/// A row for a part.
pub(crate) const fn part(
    path: &'static str,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::Part, absent, label, what)
}

const fn text(
    path: &'static str,
    most: usize,
    absent: Absent,
    label: &'static str,
    what: &'static str,
) -> Field {
    field_of(path, Kind::Text { most }, absent, label, what)
}

const fn numbers_of(unit: Unit, least: f64, most: f64) -> Items {
    Numbers(Range { unit, least, most })
}

/// The row of a description's field by its path, such as `crankshaft.throws[].angle`; for an item
/// of a list that has no row of its own, the list's.
pub fn field(path: &str) -> Option<&'static Field> {
    // A second ignition has the fields of the first.
    find(FIELDS, path).or_else(|| {
        let of_the_first = path.strip_prefix(SecondIgnition::PATH)?.strip_prefix('.')?;
        find(FIELDS, of_the_first)
    })
}

/// The row of a description's field by its place in a file, such as `crankshaft.throws[2].angle`.
pub fn field_at(place: &str) -> Option<&'static Field> {
    let mut path = String::with_capacity(place.len());
    let mut inside = false;
    for character in place.chars() {
        match character {
            '[' => inside = true,
            ']' => inside = false,
            _ if inside => continue,
            _ => {}
        }
        path.push(character);
    }
    field(&path)
}

/// The row of a path in any table.
pub(crate) fn find(fields: &'static [Field], path: &str) -> Option<&'static Field> {
    let row = |path: &str| fields.iter().find(|field| field.path == path);
    // An item of a list has its list's, unless it has one of its own.
    row(path).or_else(|| row(path.strip_suffix("[]")?))
}

/// Every number of a description with its place in the file, in the file's units (torques in newton
/// metres); the numbers of cylinders are left out.
pub fn numbers(description: &Description) -> Vec<(String, f64)> {
    let mut numbers = Vec::new();
    description.walk(&mut Place::default(), &mut |place, item| {
        if let Item::Number(value) = item
            && field(&place.path).is_some_and(|field| field.range().is_some())
        {
            numbers.push((place.written.clone(), value));
        }
    });
    numbers
}

impl Field {
    /// The same row with how it is found on an engine.
    const fn found(self, found: &'static str) -> Self {
        Self { found, ..self }
    }

    /// The range of its number, or of each of its numbers, where it has any.
    pub fn range(&self) -> Option<&Range> {
        match &self.kind {
            Kind::Number(range)
            | Kind::WordWithNumber(_, range)
            | Kind::List {
                of: Numbers(range), ..
            } => Some(range),
            _ => None,
        }
    }
}

impl Range {
    /// The least allowed, in the file's units.
    pub fn least_in(&self, units: Units) -> f64 {
        self.in_units(self.least, units)
    }

    /// The most allowed, in the file's units.
    pub fn most_in(&self, units: Units) -> f64 {
        self.in_units(self.most, units)
    }

    fn in_units(&self, value: f64, units: Units) -> f64 {
        if self.unit == Length {
            value / units.millimetres()
        } else {
            value
        }
    }

    /// The unit's sign as it follows a number, blank where there is none.
    pub fn suffix(&self, units: Units) -> &'static str {
        match self.unit {
            Length if units == Units::Inches => " in",
            Length => " mm",
            Degrees => "°",
            Teeth => " teeth",
            Rpm => " rpm",
            TeethPerInch => " teeth to the inch",
            Kilopascals => " kPa",
            InchesOfMercury => " inHg",
            Torque => " N·m",
            Count | TorquesOwn => "",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_stands_once_and_says_how_its_field_is_found() {
        for (i, field) in FIELDS.iter().enumerate() {
            if let Some(range) = field.range() {
                assert!(range.least <= range.most, "{}", field.path);
            }
            assert!(
                field.found.ends_with('.') && field.found.len() > 10,
                "{} does not say how it is found",
                field.path
            );
            assert!(
                FIELDS[..i].iter().all(|earlier| earlier.path != field.path),
                "{} stands twice",
                field.path
            );
        }
    }

    #[test]
    fn a_place_in_a_list_finds_its_row() {
        assert_eq!(
            field_at("crankshaft.throws[12].angle").map(|field| field.path),
            Some("crankshaft.throws[].angle")
        );
        assert_eq!(
            field_at("firing_angles[3]").map(|field| field.path),
            Some("firing_angles")
        );
        assert!(field_at("crankshaft.colour").is_none());
    }
}
