//! A part of the engine on the screen: its kind, its name, its material, and how it is spawned.

use bevy::ecs::system::SystemParam;
use bevy::light::NotShadowCaster;
use bevy::platform::collections::HashMap;
use bevy::prelude::*;

use super::materials::{PartMaterial, PartMaterials};
use super::mesh::{Fineness, PartMesh};
use crate::geometry::Layout;
use crate::geometry::solids::Solids;
use crate::window::app::renderer::RendererKind;
use crate::window::session::bench::Bench;

#[derive(Component, Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Part {
    pub(crate) kind: PartKind,
    /// The cylinder it belongs to; 0 for none.
    pub(crate) cylinder: u8,
}

/// The kinds of part. All parts of a kind are shown, made see-through or hidden together.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum PartKind {
    /// Journals, pins, webs.
    Crankshaft,
    /// Connecting rods.
    Rods,
    Pistons,
    Cylinders,
    /// The heads' line, valve guides, and posts for rockers and high camshafts.
    Heads,
    /// Case, tappets' guides, the distributor's boss.
    Crankcase,
    /// Main bearings with their arms.
    Bearings,
    /// Camshafts with their lobes.
    Camshaft,
    /// Valves with their springs, and the plugs.
    Valves,
    /// Followers, push rods, rockers.
    ValveGear,
    /// Wheels, chain, belt.
    CamDrive,
    /// Pulley and pointer.
    Pulley,
    /// Flywheel and its pointers; only where it carries a mark.
    Flywheel,
    Distributor,
}

impl PartKind {
    /// All of them, in the order they are listed.
    pub(crate) const ALL: [Self; 14] = [
        Self::Crankshaft,
        Self::Rods,
        Self::Pistons,
        Self::Cylinders,
        Self::Heads,
        Self::Crankcase,
        Self::Bearings,
        Self::Camshaft,
        Self::Valves,
        Self::ValveGear,
        Self::CamDrive,
        Self::Pulley,
        Self::Flywheel,
        Self::Distributor,
    ];

    /// Whether there is any part of it to be listed for this engine.
    pub(crate) fn is_there(self, layout: &Layout) -> bool {
        self != Self::Flywheel || layout.flywheel.is_some()
    }

    /// Its name in the window.
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Crankshaft => "Crankshaft",
            Self::Rods => "Rods",
            Self::Pistons => "Pistons",
            Self::Cylinders => "Cylinders",
            Self::Heads => "Heads and posts",
            Self::Crankcase => "Crankcase",
            Self::Bearings => "Main bearings",
            Self::Camshaft => "Camshaft",
            Self::Valves => "Valves",
            Self::ValveGear => "Valve gear",
            Self::CamDrive => "Cam drive",
            Self::Pulley => "Pulley",
            Self::Flywheel => "Flywheel",
            Self::Distributor => "Distributor",
        }
    }
}

/// A part's own material, which it has unless its kind is made see-through.
#[derive(Component, Clone, Debug)]
pub(crate) struct OwnMaterial(pub Handle<PartMaterial>);

/// What is there only while something else is in.
#[derive(Component, Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum InWith {
    /// The distributor, which may lie beside the engine.
    Distributor,
    /// A camshaft in mesh, counted from 0 as they are described.
    Camshaft(usize),
}

impl InWith {
    /// Whether that is in.
    pub(crate) fn is_in(self, bench: &Bench) -> bool {
        match self {
            Self::Distributor => !bench.distributor_is_aside(),
            Self::Camshaft(camshaft) => bench.apart().cam(camshaft).is_none(),
        }
    }
}

/// A part of glass: what stands behind it is named before it.
#[derive(Component, Clone, Copy, Debug)]
pub(crate) struct Glass;

/// A part's name, shown while the pointer is on it.
#[derive(Component, Clone, Debug)]
pub(crate) struct PartName(pub String);

/// Spawns the parts of the engine on the bench.
#[derive(SystemParam)]
pub(crate) struct PartSpawner<'w, 's> {
    pub(crate) bench: Res<'w, Bench>,
    pub(crate) materials: Res<'w, PartMaterials>,
    pub(crate) renderer: Res<'w, RendererKind>,
    fineness: Res<'w, Fineness>,
    commands: Commands<'w, 's>,
    meshes: ResMut<'w, Assets<Mesh>>,
    shared: ResMut<'w, SharedMeshes>,
}

/// The meshes of the engine's parts, by shape and colour: parts that share a mesh are drawn
/// together.
#[derive(Resource, Debug, Default)]
pub(crate) struct SharedMeshes(HashMap<u64, Handle<Mesh>>);

impl SharedMeshes {
    /// The handle of a mesh: the same one for every mesh of its shape and colours.
    pub(crate) fn handle(&mut self, mesh: PartMesh, meshes: &mut Assets<Mesh>) -> Handle<Mesh> {
        self.0
            .entry(mesh.shape())
            .or_insert_with(|| meshes.add(mesh.mesh()))
            .clone()
    }
}

impl PartSpawner<'_, '_> {
    /// The handle of a mesh, shared with every other of its shape and colours.
    pub(crate) fn mesh(&mut self, mesh: PartMesh) -> Handle<Mesh> {
        self.shared.handle(mesh, &mut self.meshes)
    }

    /// The handle of a body's mesh.
    pub(crate) fn body(&mut self, body: &Solids) -> Handle<Mesh> {
        self.mesh(PartMesh::of(body, *self.fineness))
    }

    /// Spawns a part of the opaque material; `cylinder` is 0 for a part that belongs to no cylinder.
    pub(crate) fn spawn(
        &mut self,
        kind: PartKind,
        cylinder: u8,
        name: impl Into<String>,
        mesh: Handle<Mesh>,
    ) -> EntityCommands<'_> {
        let material = self.materials.opaque.clone();
        self.spawn_of(kind, cylinder, name, mesh, material)
    }

    /// Spawns a part of any material.
    pub(crate) fn spawn_of(
        &mut self,
        kind: PartKind,
        cylinder: u8,
        name: impl Into<String>,
        mesh: Handle<Mesh>,
        material: Handle<PartMaterial>,
    ) -> EntityCommands<'_> {
        let (opaque, glass) = (
            material == self.materials.opaque,
            material == self.materials.glass,
        );
        let mut part = self.commands.spawn((
            Part { kind, cylinder },
            PartName(name.into()),
            OwnMaterial(material.clone()),
            Mesh3d(mesh),
            MeshMaterial3d(material),
            Transform::default(),
        ));
        if !opaque {
            part.insert(NotShadowCaster);
        }
        if glass {
            part.insert(Glass);
        }
        part
    }
}

/// Despawns every part, before those of another engine are spawned.
pub(crate) fn despawn_parts(
    mut commands: Commands,
    parts: Query<Entity, With<Part>>,
    mut shared: ResMut<SharedMeshes>,
) {
    shared.0.clear();
    for part in &parts {
        commands.entity(part).despawn();
    }
}
