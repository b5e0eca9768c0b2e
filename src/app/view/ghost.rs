//! The ghost: instruments, needle and thread of another time, translucent over those of now.

use bevy::light::NotShadowCaster;
use bevy::prelude::*;

use super::ground::settled;
use super::{Site, ToolHalf, ViewSystems, fold, turned};
use crate::simulation::snapshot::Snapshot;

/// What the ghost is, if there is one.
#[derive(Resource, Debug, Clone, PartialEq, Default)]
pub struct GhostShown(pub Option<Snapshot>);

/// Pale blue, which nothing in a mouth is.
const COLOUR: Color = Color::srgba(0.45, 0.72, 1.0, 0.34);
const LINE: Color = Color::srgba(0.55, 0.80, 1.0, 0.75);

/// Half of a ghost's instrument.
#[derive(Component)]
pub(super) struct GhostHalf;

/// Adds what moves it.
pub(super) fn plugin(app: &mut App) {
    app.init_resource::<GhostShown>().add_systems(
        Update,
        (place.run_if(resource_changed::<GhostShown>), draw_lines).in_set(ViewSystems).run_if(resource_exists::<Site>),
    );
}

/// What its steel looks like.
pub(super) fn look() -> StandardMaterial {
    StandardMaterial { base_color: COLOUR, alpha_mode: AlphaMode::Blend, perceptual_roughness: 0.8, ..default() }
}

/// The surface of half of its instrument.
pub(super) fn surface(mesh: Handle<Mesh>, look: &Handle<StandardMaterial>) -> impl Bundle {
    (GhostHalf, Mesh3d(mesh), MeshMaterial3d(look.clone()), Transform::default(), Visibility::Hidden, NotShadowCaster)
}

fn place(ghost: Res<GhostShown>, mut halves: Query<(&ToolHalf, &mut Transform, &mut Visibility), With<GhostHalf>>) {
    for (half, mut transform, mut visibility) in &mut halves {
        let wanted = if ghost.0.is_some() { Visibility::Inherited } else { Visibility::Hidden };
        visibility.set_if_neq(wanted);
        if let Some(ghost) = &ghost.0 {
            *transform = turned(half, &ghost.tools[half.tool]);
        }
    }
}

/// Needle and thread as lines, so that they are not taken for one's own.
fn draw_lines(ghost: Res<GhostShown>, site: Res<Site>, mut lines: Gizmos) {
    let Some(ghost) = &ghost.0 else { return };
    let fold = fold(&site.0);
    for line in ghost.strands.iter().chain([&ghost.needle]).filter(|line| line.len() > 1) {
        lines.linestrip(line.iter().map(|point| settled(*point, fold)), LINE);
    }
}
