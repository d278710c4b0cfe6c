//! The names of what is looked for in a description of an engine.

use crate::source::{Fault, faults};

faults! {
    /// What an engine cannot be, and what should be looked at again.
    pub enum DescriptionFault {
        TooMany, OutOfRange, NotANumber, NoSuchIdler,
        NoCylinders, OrderStartsElsewhere, FiringAnglesDoNotMatch, NoSuchCylinder, CylinderTwice,
        CylinderMissing,
        CamDriveNotTwoToOne, DistributorDriveNotTwoToOne, IdlerHidesTheMarks, IdlersWithoutGears,
        RodTooShort, CrankCannotFireSo, NotItsTdc, FiringAngleOutOfTurn, NumberOneThrowNotZero,
        UnevenFiring,
        ValveNeverOpens, ValveNeverCloses, QuotedOverTheLift, DurationImpossible,
        UnusualDuration, UnusualOverlap, LittleClearance,
        RotorMissesTower, CurveRunsBack, HalfTurnIsNoWholeTeeth,
    }
}
