//! Why readings taken at an engine cannot be used.

use std::fmt;

use crate::description::fields::MOST_CYLINDERS;
use crate::words::degrees;

/// Why readings taken at an engine cannot be used. Its text is a line for the builder.
#[derive(Clone, Debug, PartialEq)]
pub enum Error {
    /// Both readings of a positive stop are the same.
    SameStop {
        /// What the wheel read.
        reading_deg: f64,
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
    /// which comes first.
    Together((u8, f64), (u8, f64)),
    /// Without this cylinder the others are even.
    StandsApart {
        /// The cylinder.
        cylinder: u8,
        /// The crank angle given.
        crank_deg: f64,
        /// Where even intervals would have it.
        would_be_deg: f64,
    },
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
            Self::Together((one, one_deg), (other, other_deg)) => write!(
                f,
                "No. {one} at {} and No. {other} at {} are too near together for a thumb to tell which comes first.",
                degrees(*one_deg),
                degrees(*other_deg)
            ),
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
