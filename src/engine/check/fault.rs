//! The names of what is looked for in a description of an engine.

use crate::source::{Fault, faults};

faults! {
    /// What an engine cannot be, and what should be looked at again.
    pub enum DescriptionFault {
        TooMany, TextTooLong, OutOfRange, NotANumber, NoSuchIdler,
        BothOfTwo, NeitherOfTwo,
        NoCylinders, OrderStartsElsewhere, FiringAnglesDoNotMatch, NoSuchCylinder, CylinderTwice,
        CylinderMissing,
        CamDriveNotTwoToOne, DistributorDriveNotTwoToOne, IdlerHidesTheMarks, IdlersWithoutGears,
        MarksDoNotMeet, PointerFarFromTdc, ChainFieldOnGears, LinksCannotBe,
        CamshaftsNotToldApart, ValveWithoutCamshaft, ValveOnTwoCamshafts, CamshaftWorksNothing,
        NoSuchBank, NoSuchCamshaft, CamshaftDrivesNothing,
        RodTooShort, CrankCannotFireSo, NotItsTdc, FiringAngleOutOfTurn, NumberOneThrowNotZero,
        UnevenFiring, RadialEngine,
        EventsNotStated, EventsStatedTwice, EventsHalfStated, SecondPairNotWhole, NoSuchRamps,
        LobeNotSymmetric, LashWithHydraulicLifters, LashOverTheLift,
        LiftsTooFew, LiftsDoNotRise, LiftsTooFarApart, LiftsNotFromTheSeat, LiftsNoLobe,
        LobeOffItsStroke, LiftOverTheBore, LobeHasTwoTops,
        ValveNeverOpens, ValveNeverCloses, QuotedOverTheLift, DurationImpossible,
        RockerRatioMissing, QuotedLiftNotStated,
        FollowerTooLarge, UnusualDuration, UnusualOverlap, LittleClearance,
        RotorMissesTower, CurveRunsBack, HalfTurnIsNoWholeTeeth,
        CoilOfNoneOrMany, CoilMatesNotATurnApart, CoilOfTwoSparksEveryTurn, SparksBesideTheCap,
        GearedShaftWithoutTongue, SlotWithoutShaft,
        NoSuchStep, PassesWithoutTorque, PassesDoNotRise, SequenceNotEachOnce, RowsNotEachOnce, PumpWithoutItsDrive,
    }
}
