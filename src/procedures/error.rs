//! Why readings taken at an engine cannot be used.

use std::fmt;

use super::event_readings::EventReadings;
use crate::description::Valve;
use crate::description::fields::MOST_CYLINDERS;
use crate::words::{degrees, list};

/// Why readings taken at an engine cannot be used. Its text is a line for the builder.
#[derive(Clone, Debug, PartialEq)]
pub enum Error {
    /// Both readings of a positive stop are the same.
    SameStop {
        /// What the wheel read.
        reading_deg: f64,
    },
    /// The readings of a positive stop are so near together that it held the piston at its very top.
    StopTooNear {
        /// Crank degrees between them.
        apart_deg: f64,
    },
    /// The readings of a positive stop are half a turn apart, so either side may be the top.
    HalfATurnApart {
        /// What the wheel read, turning one way.
        a_deg: f64,
        /// What it read, turning the other way.
        b_deg: f64,
    },
    /// No cylinder in which compression was felt, or more than any engine has.
    HowMany(usize),
    /// A reading that is no crank angle within two turns.
    OutOfRange(u8, f64),
    /// One cylinder felt at two places: on a four-stroke each compresses once in two turns.
    Twice {
        /// The cylinder.
        cylinder: u8,
        /// The crank angle given first.
        first_deg: f64,
        /// The crank angle given again.
        again_deg: f64,
    },
    /// Cylinders are numbered from 1 without gaps: this one is missing.
    Missing(u8),
    /// Two cylinders, each with its crank angle, felt so near together that a thumb cannot tell
    /// which comes first; and, where one of them would be even with all the others elsewhere, which
    /// and where.
    Together {
        /// The one.
        one: (u8, f64),
        /// The other.
        other: (u8, f64),
        /// The one that looks mistyped, and where it would be even with the others.
        would_be: Option<(u8, f64)>,
    },
    /// Intervals that no crank of so many cylinders gives.
    NoCrank {
        /// Cylinders as they were felt, No. 1 first.
        order: Vec<u8>,
        /// Crank degrees after each to the next.
        intervals_deg: Vec<f64>,
    },
    /// Without this cylinder the others are even.
    StandsApart {
        /// The cylinder.
        cylinder: u8,
        /// The crank angle given.
        crank_deg: f64,
        /// Where even intervals would have it.
        would_be_deg: f64,
    },
    /// Readings of a valve that are written as a cam card has its events.
    LikeACard {
        /// The valve.
        valve: Valve,
        /// As they were given.
        read: EventReadings,
        /// As they are to be written.
        meant: EventReadings,
    },
    /// Readings of a valve on a wheel that was zeroed at No. 1's other TDC.
    OtherTdc {
        /// The valve.
        valve: Valve,
        /// As they were given.
        read: EventReadings,
        /// As they are to be written.
        meant: EventReadings,
    },
    /// Readings of a valve of which one was read past where the wheel starts again.
    StartsAgain {
        /// The valve.
        valve: Valve,
        /// As they were given.
        read: EventReadings,
        /// As they are to be written.
        meant: EventReadings,
    },
    /// Readings of a valve that would close before it opens.
    ClosesFirst {
        /// The valve.
        valve: Valve,
        /// As they were given.
        read: EventReadings,
    },
    /// Readings of a valve that is not over that lift for so long, or so shortly.
    NotThisLong {
        /// The valve.
        valve: Valve,
        /// As they were given.
        read: EventReadings,
        /// Crank degrees for which its lobe has it over that lift.
        wanted_deg: f64,
    },
    /// Readings of a valve whose lobe's centre lies farther from the card than any builder meshes it.
    TooFarOut {
        /// The valve.
        valve: Valve,
        /// How far, crank degrees.
        out_deg: f64,
        /// The farthest that is taken.
        most_deg: f64,
    },
}

impl Error {
    /// What would put it right.
    pub fn remedy(&self) -> String {
        let write = |valve: &Valve, meant: &EventReadings| {
            format!(
                "count both from No. 1's overlap TDC, negative before it: --{} {} {}",
                valve.word(),
                plain(meant.opens_deg),
                plain(meant.closes_deg)
            )
        };
        match self {
            Self::LikeACard { valve, meant, .. }
            | Self::OtherTdc { valve, meant, .. }
            | Self::StartsAgain { valve, meant, .. } => write(valve, meant),
            Self::ClosesFirst { .. } => {
                "count both from No. 1's overlap TDC: before it negative, and on past 180° without starting again".to_owned()
            }
            Self::NotThisLong { .. } => {
                "check the lift, the dial's travel and the figures; read both at the same lift".to_owned()
            }
            Self::TooFarOut { .. } => {
                "set the wheel to 0 at No. 1's overlap TDC by a stop (`dotwise tdc --stop A B`), and read No. 1's valve again".to_owned()
            }
            Self::SameStop { .. } => {
                "turn the crank back from the stop, all the way round to it from the other side, and read again".to_owned()
            }
            Self::StopTooNear { .. } => {
                "screw the stop further in, so that it holds the piston some 20° to 60° from its top, and read both sides again".to_owned()
            }
            Self::HalfATurnApart { .. } => {
                "screw the stop further in or out, so that it holds the piston nearer the top".to_owned()
            }
            _ => "turn the crank on over two full turns and feel again; write every cylinder once".to_owned(),
        }
    }
}

/// A figure as it is written on a command line.
fn plain(deg: f64) -> String {
    let rounded = (deg * 100.0).round() / 100.0 + 0.0;
    rounded.to_string()
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SameStop { reading_deg } => {
                write!(
                    f,
                    "both readings are {} on the wheel",
                    degrees(*reading_deg)
                )
            }
            Self::StopTooNear { apart_deg } => write!(
                f,
                "the readings are {} apart: so near its top the piston hardly moves, and midway is a guess",
                degrees(*apart_deg)
            ),
            Self::LikeACard { valve, read, .. } => {
                let (opens, closes) = match valve {
                    Valve::Intake => ("before TDC", "after BDC"),
                    Valve::Exhaust => ("before BDC", "after TDC"),
                };
                write!(
                    f,
                    "--{} {} {} looks like a cam card's events: opens {} {opens}, closes {} {closes}",
                    valve.word(),
                    plain(read.opens_deg),
                    plain(read.closes_deg),
                    degrees(read.opens_deg),
                    degrees(read.closes_deg)
                )
            }
            Self::OtherTdc { valve, read, .. } => write!(
                f,
                "--{} {} {} looks like a wheel that was zeroed at No. 1's firing TDC, a whole turn from its overlap TDC",
                valve.word(),
                plain(read.opens_deg),
                plain(read.closes_deg)
            ),
            Self::StartsAgain { valve, read, .. } => write!(
                f,
                "--{} {} {} looks like a wheel whose figures start again after a turn",
                valve.word(),
                plain(read.opens_deg),
                plain(read.closes_deg)
            ),
            Self::ClosesFirst { valve, read } => write!(
                f,
                "--{} {} {}: the valve would close before it opens",
                valve.word(),
                degrees(read.opens_deg),
                degrees(read.closes_deg)
            ),
            Self::NotThisLong {
                valve,
                read,
                wanted_deg,
            } => write!(
                f,
                "--{} {} {}: {} long, and the description's lobe is over that lift for {}",
                valve.word(),
                degrees(read.opens_deg),
                degrees(read.closes_deg),
                degrees(read.duration_deg()),
                degrees(wanted_deg.round())
            ),
            Self::TooFarOut {
                valve,
                out_deg,
                most_deg,
            } => write!(
                f,
                "the {} lobe's centre would stand {} from its card; more than {} is no slip of a few teeth",
                valve.word(),
                degrees(*out_deg),
                degrees(most_deg.round())
            ),
            Self::HalfATurnApart { a_deg, b_deg } => write!(
                f,
                "{} and {} are half a turn apart, so either side may be the top",
                degrees(*a_deg),
                degrees(*b_deg)
            ),
            Self::HowMany(0) => f.write_str("There is no reading."),
            Self::HowMany(count) => write!(
                f,
                "{count} readings; at most {MOST_CYLINDERS} cylinders are allowed."
            ),
            Self::OutOfRange(cylinder, crank_deg) => write!(
                f,
                "No. {cylinder} at {}: a crank angle within two turns is 0° to 720°.",
                degrees(*crank_deg)
            ),
            Self::Twice {
                cylinder,
                first_deg,
                again_deg,
            } => write!(
                f,
                "No. {cylinder} was felt at {} and again at {}: a four-stroke's cylinder compresses once in two turns.",
                degrees(*first_deg),
                degrees(*again_deg)
            ),
            Self::Missing(cylinder) => write!(
                f,
                "No. {cylinder} is missing: cylinders are numbered from 1 without gaps."
            ),
            Self::Together {
                one: (one, one_deg),
                other: (other, other_deg),
                would_be,
            } => {
                write!(
                    f,
                    "No. {one} at {} and No. {other} at {} are too near together for a thumb to tell which comes first.",
                    degrees(*one_deg),
                    degrees(*other_deg)
                )?;
                match would_be {
                    Some((which, at)) => write!(
                        f,
                        " No. {which} looks mistyped: at about {} it would be even with the others.",
                        degrees(at.round())
                    ),
                    None => Ok(()),
                }
            }
            Self::NoCrank {
                order,
                intervals_deg,
            } => {
                let intervals: Vec<String> = intervals_deg.iter().copied().map(degrees).collect();
                write!(
                    f,
                    "No. {} at intervals of {}: no crank of {} cylinders gives that. One or more of the figures are mistyped.",
                    list(order),
                    intervals.join(", "),
                    order.len()
                )
            }
            Self::StandsApart {
                cylinder,
                crank_deg,
                would_be_deg,
            } => write!(
                f,
                "No. {cylinder} at {} does not fit: the others are even, and would have it at about {}.",
                degrees(*crank_deg),
                degrees(would_be_deg.round())
            ),
        }
    }
}

impl std::error::Error for Error {}
