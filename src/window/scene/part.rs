//! A part of the engine on the screen: what it is called, how it is put there, how it is hidden or
//! made see-through.

use bevy::ecs::system::SystemParam;
use bevy::light::NotShadowCaster;
use bevy::platform::collections::HashMap;
use bevy::prelude::*;

use super::materials::{PartMaterial, PartMaterials};
use super::mesh::PartMesh;
use crate::window::app::renderer::RendererKind;
use crate::window::session::bench::Bench;

/// A part, with the name a builder calls it by.
#[derive(Component, Clone, Debug, PartialEq, Eq, Hash)]
pub struct Part {
    /// What kind of part.
    pub kind: PartKind,
    /// The cylinder it belongs to; 0 for none.
    pub cylinder: u8,
}

/// The kinds of part. Each can be shown, made see-through or hidden as one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum PartKind {
    /// Journals, pins, webs.
    Crankshaft,
    /// Connecting rods.
    Rods,
    /// Pistons.
    Pistons,
    /// Cylinders.
    Cylinders,
    /// Camshafts with their lobes.
    Camshaft,
    /// Valves.
    Valves,
    /// Followers, push rods, rockers.
    ValveGear,
    /// Wheels, chain, belt.
    CamDrive,
    /// Pulley and pointer.
    Pulley,
    /// Distributor.
    Distributor,
}

impl PartKind {
    /// All of them, in the order they are listed.
    pub const ALL: [Self; 10] = [
        Self::Crankshaft,
        Self::Rods,
        Self::Pistons,
        Self::Cylinders,
        Self::Camshaft,
        Self::Valves,
        Self::ValveGear,
        Self::CamDrive,
        Self::Pulley,
        Self::Distributor,
    ];

    /// Its name in the window.
    pub fn word(self) -> &'static str {
        match self {
            Self::Crankshaft => "Crankshaft",
            Self::Rods => "Rods",
            Self::Pistons => "Pistons",
            Self::Cylinders => "Cylinders",
            Self::Camshaft => "Camshaft",
            Self::Valves => "Valves",
            Self::ValveGear => "Valve gear",
            Self::CamDrive => "Cam drive",
            Self::Pulley => "Pulley",
            Self::Distributor => "Distributor",
        }
    }
}

/// What a part is made of when it is shown whole.
#[derive(Component, Clone, Debug)]
pub struct MadeOf(pub Handle<PartMaterial>);

/// What is looked through for what stands behind it.
#[derive(Component, Clone, Copy, Debug)]
pub struct Glass;

/// What a part is called on hover.
#[derive(Component, Clone, Debug)]
pub struct PartName(pub String);

/// What putting parts on the bench needs.
#[derive(SystemParam)]
pub struct PartSpawner<'w, 's> {
    /// The engine.
    pub bench: Res<'w, Bench>,
    /// The materials.
    pub metals: Res<'w, PartMaterials>,
    /// What draws.
    pub draws: Res<'w, RendererKind>,
    commands: Commands<'w, 's>,
    meshes: ResMut<'w, Assets<Mesh>>,
    shapes: ResMut<'w, Shapes>,
}

/// The meshes of the engine on the bench, by shape: parts of one shape share one, and are drawn
/// together.
#[derive(Resource, Debug, Default)]
pub struct Shapes(HashMap<u64, Handle<Mesh>>);

impl Shapes {
    /// A solid's mesh: the same one for every solid of its shape.
    pub fn of(&mut self, solid: PartMesh, meshes: &mut Assets<Mesh>) -> Handle<Mesh> {
        self.0
            .entry(solid.shape())
            .or_insert_with(|| meshes.add(solid.mesh()))
            .clone()
    }
}

impl PartSpawner<'_, '_> {
    /// A solid's mesh: the same one for every solid of its shape.
    pub fn mesh(&mut self, solid: PartMesh) -> Handle<Mesh> {
        self.shapes.of(solid, &mut self.meshes)
    }

    /// Puts a part of opaque metal there.
    pub fn fit(
        &mut self,
        kind: PartKind,
        cylinder: u8,
        called: impl Into<String>,
        mesh: Handle<Mesh>,
    ) -> EntityCommands<'_> {
        let metal = self.metals.opaque.clone();
        self.fit_of(kind, cylinder, called, mesh, metal)
    }

    /// Puts a part of any material there.
    pub fn fit_of(
        &mut self,
        kind: PartKind,
        cylinder: u8,
        called: impl Into<String>,
        mesh: Handle<Mesh>,
        metal: Handle<PartMaterial>,
    ) -> EntityCommands<'_> {
        let (solid, glass) = (metal == self.metals.opaque, metal == self.metals.glass);
        let mut part = self.commands.spawn((
            Part { kind, cylinder },
            PartName(called.into()),
            MadeOf(metal.clone()),
            Mesh3d(mesh),
            MeshMaterial3d(metal),
            Transform::default(),
        ));
        if !solid {
            part.insert(NotShadowCaster);
        }
        if glass {
            part.insert(Glass);
        }
        part
    }
}

/// Takes every part off the bench, before those of another engine are put there.
pub fn clear_away(
    mut commands: Commands,
    parts: Query<Entity, With<Part>>,
    mut shapes: ResMut<Shapes>,
) {
    shapes.0.clear();
    for part in &parts {
        commands.entity(part).despawn();
    }
}
