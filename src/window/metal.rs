//! What the parts are made of, for the eye: one opaque material for all metals, whose colour stands in the mesh, glass for
//! cylinders and cap, and the pale stuff of parts as drawn beside parts as built.

use bevy::prelude::*;

/// A colour in a mesh: linear red, green, blue and cover.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Colour(pub [f32; 4]);

impl Default for Colour {
    fn default() -> Self {
        STEEL
    }
}

const fn linear(red: f32, green: f32, blue: f32) -> Colour {
    Colour([red, green, blue, 1.0])
}

/// Crankshaft, rods, gears.
pub const STEEL: Colour = linear(0.36, 0.38, 0.41);
/// Webs, counterweights.
pub const FORGED: Colour = linear(0.22, 0.24, 0.27);
/// Bearings' faces, pins.
pub const BRIGHT: Colour = linear(0.62, 0.64, 0.67);
/// Pistons.
pub const ALLOY: Colour = linear(0.55, 0.54, 0.52);
/// Rings, chains.
pub const DARK: Colour = linear(0.07, 0.07, 0.08);
/// The camshaft.
pub const CAM: Colour = linear(0.42, 0.33, 0.22);
/// Cam drive: the crank's wheel.
pub const CRANK_WHEEL: Colour = linear(0.46, 0.40, 0.26);
/// Cam drive: the camshaft's wheel.
pub const CAM_WHEEL: Colour = linear(0.50, 0.45, 0.33);
/// Idlers.
pub const IDLER: Colour = linear(0.40, 0.40, 0.36);
/// Intake valves, as everywhere in the window.
pub const INTAKE: Colour = linear(0.02, 0.20, 0.52);
/// Exhaust valves.
pub const EXHAUST: Colour = linear(0.45, 0.07, 0.24);
/// Push rods, rockers, followers.
pub const GEAR: Colour = linear(0.48, 0.49, 0.50);
/// Marks that must be seen.
pub const MARK: Colour = linear(0.95, 0.95, 0.90);
/// Where a mark is stamped.
pub const MARK_GROUND: Colour = linear(0.03, 0.03, 0.03);
/// The pointer.
pub const POINTER: Colour = linear(0.80, 0.10, 0.06);
/// The pulley.
pub const PULLEY: Colour = linear(0.13, 0.15, 0.18);
/// The rotor.
pub const ROTOR: Colour = linear(0.30, 0.13, 0.05);
/// Brass: contacts, towers' electrodes.
pub const BRASS: Colour = linear(0.66, 0.46, 0.14);
/// The distributor's body.
pub const BODY: Colour = linear(0.30, 0.32, 0.34);
/// The cap's towers.
pub const TOWER: Colour = linear(0.20, 0.07, 0.04);
/// A spark.
pub const SPARK: Colour = linear(1.0, 0.85, 0.25);

/// The materials.
#[derive(Resource, Debug)]
pub struct Metals {
    /// All that is opaque.
    pub opaque: Handle<StandardMaterial>,
    /// Cylinders and cap.
    pub glass: Handle<StandardMaterial>,
    /// Parts made see-through by the user.
    pub see_through: Handle<StandardMaterial>,
    /// Parts as drawn, beside parts as built.
    pub ghost: Handle<StandardMaterial>,
    /// Sparks: lit from within.
    pub glow: Handle<StandardMaterial>,
}

impl FromWorld for Metals {
    fn from_world(world: &mut World) -> Self {
        let mut materials = world.resource_mut::<Assets<StandardMaterial>>();
        let clear = |colour: Color| StandardMaterial {
            base_color: colour,
            alpha_mode: AlphaMode::Blend,
            perceptual_roughness: 0.35,
            double_sided: true,
            cull_mode: None,
            ..default()
        };
        Self {
            opaque: materials.add(StandardMaterial { perceptual_roughness: 0.5, metallic: 0.15, reflectance: 0.45, ..default() }),
            glass: materials.add(StandardMaterial {
                double_sided: false,
                cull_mode: default(),
                ..clear(Color::srgba(0.75, 0.86, 0.95, 0.22))
            }),
            see_through: materials.add(clear(Color::srgba(1.0, 1.0, 1.0, 0.25))),
            ghost: materials.add(StandardMaterial { unlit: true, ..clear(Color::srgba(0.55, 0.42, 0.85, 0.45)) }),
            glow: materials.add(StandardMaterial { unlit: true, ..default() }),
        }
    }
}
