//! The part of the engine at which something is to be looked at.

/// A part of the engine that a step, a witness or a question is about.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum LooksAt {
    /// All of it.
    #[default]
    Whole,
    /// Crankshaft, bearings and rods.
    Crank,
    /// The cam drive's wheels and their marks, from the front.
    CamDrive,
    /// The camshaft.
    Camshaft,
    /// The crank's own mark at its pointer.
    CrankMark,
    /// A cylinder with its piston.
    Cylinder(u8),
    /// A cylinder's valves and what moves them.
    Valves(u8),
    /// The distributor and its drive, with room to lift it.
    Drive,
    /// The cap from above: rotor and towers.
    Cap,
}
