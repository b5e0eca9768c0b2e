//! The picture: a mouth with an operating field in it, drawn from a [`Snapshot`].
//!
//! Nothing here decides anything: what is drawn never goes back into the simulation.

mod crown;
pub mod depth;
pub mod flap;
mod ghost;
mod ground;
mod hidden;
mod light;
pub mod palette;
mod steel;
pub mod surface;
pub mod tube;

use bevy::prelude::*;

pub use self::ghost::GhostShown;
use self::steel::angle;
use self::surface::Surface;
use self::tube::Tube;
use super::frame::to_scene_transform;
use super::plan::SitePlan;
use super::preset::Preset;
use crate::math::DVec3;
use crate::simulation::snapshot::{Snapshot, ToolView};

/// What is shown now.
#[derive(Resource, Debug, Clone)]
pub struct Shown(pub Snapshot);

/// Where things stand.
#[derive(Resource, Debug, Clone)]
pub struct Site(pub SitePlan);

/// Generic name of the material of a thread on a bench; there is no [`Site`] then.
#[derive(Resource, Debug, Clone)]
pub struct BenchThread(pub String);

/// How much is drawn.
#[derive(Resource, Debug, Clone, Copy)]
pub struct Detail(pub Preset);

/// Everything that draws what is [`Shown`]; runs in `Update`.
#[derive(SystemSet, Debug, Clone, PartialEq, Eq, Hash)]
pub struct ViewSystems;

/// Rings by which the thread's mesh grows.
const RING_STEP: usize = 256;

/// What moves.
#[derive(Resource)]
struct Moving {
    thread: Handle<Mesh>,
    /// Rings that the thread's mesh has room for.
    capacity: usize,
    needle: Handle<Mesh>,
    needle_points: usize,
    flaps: [Handle<Mesh>; 2],
}

/// Half of an instrument.
#[derive(Component)]
struct ToolHalf {
    tool: usize,
    side: f32,
    joint: f32,
}

/// Something of the site, which stands still.
#[derive(Component)]
struct OfSite;

/// Materials, made once.
#[derive(Resource)]
struct Materials {
    gum: Handle<StandardMaterial>,
    membrane: Handle<StandardMaterial>,
    enamel: Handle<StandardMaterial>,
    mouth: Handle<StandardMaterial>,
    steel: Handle<StandardMaterial>,
    thread: Handle<StandardMaterial>,
    cloth: Handle<StandardMaterial>,
    ghost: Handle<StandardMaterial>,
}

/// Adds the picture; needs [`Shown`], [`Detail`], and [`Site`] or [`BenchThread`] to be there.
pub(super) fn plugin(app: &mut App) {
    let preset = app.world().resource::<Detail>().0;
    app.add_plugins((depth::plugin, ghost::plugin, hidden::plugin))
        .insert_resource(bevy::light::DirectionalLightShadowMap { size: preset.shadow_map() })
        .insert_resource(bevy::light::GlobalAmbientLight { brightness: 30.0, ..default() })
        .insert_resource(ClearColor(Color::srgb(0.02, 0.025, 0.03)))
        .add_systems(Startup, build_scene)
        .add_systems(Update, build_site.run_if(resource_exists_and_changed::<Site>))
        .add_systems(
            Update,
            (draw_thread, (draw_needle, draw_flaps, draw_tools).run_if(resource_exists::<Site>))
                .in_set(ViewSystems)
                .run_if(resource_changed::<Shown>),
        );
}

/// Angle that the picture's height takes up [rad].
pub const FIELD_OF_VIEW: f32 = 0.42;

/// Distance from the eye at which the picture begins [mm].
pub(super) const NEAR: f32 = 5.0;

/// A camera as the view wants it, without its place; `near` is the distance at which its picture begins [mm].
pub(super) fn camera(preset: Preset, images: &mut Assets<Image>, near: f32) -> impl Bundle {
    (
        Camera3d::default(),
        Projection::Perspective(PerspectiveProjection { fov: FIELD_OF_VIEW, near, far: 900.0, ..default() }),
        if preset.samples() == 4 { Msaa::Sample4 } else { Msaa::Off },
        bevy::core_pipeline::tonemapping::Tonemapping::AcesFitted,
        light::surroundings(images),
    )
}

fn build_scene(
    mut commands: Commands,
    mut meshes: ResMut<Assets<Mesh>>,
    mut materials: ResMut<Assets<StandardMaterial>>,
    mut tints: ResMut<Assets<hidden::Hidden>>,
    site: Option<Res<Site>>,
    detail: Res<Detail>,
    shown: Res<Shown>,
) {
    let look = make_materials(&mut materials, detail.0);
    let tint = hidden::tint(&mut tints);
    light::spawn(&mut commands, detail.0);
    let coarseness = detail.0.coarseness();
    if site.is_none() {
        let cloth = (Mesh3d(meshes.add(ground::bench(coarseness).mesh())), MeshMaterial3d(look.cloth.clone()));
        commands.spawn((cloth, bevy::light::NotShadowCaster));
    } else {
        spawn_tools(&mut commands, &mut meshes, &look, &tint, &shown.0);
    }
    spawn_moving(&mut commands, &mut meshes, &look, &tint);
    commands.insert_resource(look);
}

/// All of the site that stands still, instead of what stood there before.
fn build_site(
    mut commands: Commands,
    mut meshes: ResMut<Assets<Mesh>>,
    site: Res<Site>,
    detail: Res<Detail>,
    look: Res<Materials>,
    before: Query<Entity, With<OfSite>>,
) {
    before.iter().for_each(|entity| commands.entity(entity).despawn());
    let coarseness = detail.0.coarseness();
    let mut still = |surface: Surface, material: &Handle<StandardMaterial>| {
        commands.spawn((OfSite, Mesh3d(meshes.add(surface.mesh())), MeshMaterial3d(material.clone()))).id()
    };
    let ground = [
        still(ground::ridge(&site.0, coarseness), &look.gum),
        still(ground::membrane(&site.0, coarseness), &look.membrane),
        still(ground::mouth(coarseness), &look.mouth),
    ];
    for crown in &site.0.crowns {
        still(crown::surface(crown, coarseness), &look.enamel);
    }
    for lowest in ground {
        commands.entity(lowest).insert(bevy::light::NotShadowCaster);
    }
}

fn make_materials(materials: &mut Assets<StandardMaterial>, preset: Preset) -> Materials {
    let coat = |strength: f32| if preset.clear_coat() { strength } else { 0.0 };
    let wet = |roughness: f32, gloss: f32| StandardMaterial {
        perceptual_roughness: roughness,
        reflectance: 0.38,
        clearcoat: coat(gloss),
        clearcoat_perceptual_roughness: 0.16,
        ..default()
    };
    Materials {
        // A strong gloss would look like gum without blood.
        gum: materials.add(StandardMaterial {
            double_sided: true,
            cull_mode: None,
            reflectance: 0.25,
            ..wet(0.40, 0.22)
        }),
        membrane: materials.add(wet(0.55, 0.30)),
        enamel: materials.add(wet(0.24, 0.70)),
        mouth: materials.add(wet(0.60, 0.15)),
        steel: materials.add(StandardMaterial { metallic: 1.0, perceptual_roughness: 0.27, ..default() }),
        thread: materials.add(wet(0.45, 0.35)),
        cloth: materials.add(StandardMaterial { perceptual_roughness: 0.95, reflectance: 0.1, ..default() }),
        ghost: materials.add(ghost::look()),
    }
}

fn spawn_tools(
    commands: &mut Commands,
    meshes: &mut Assets<Mesh>,
    look: &Materials,
    tint: &Handle<hidden::Hidden>,
    shown: &Snapshot,
) {
    for (tool, view) in shown.tools.iter().enumerate() {
        let steel::Halves { halves, joint } = steel::halves(view.kind);
        for (half, side) in halves.iter().zip([1.0, -1.0]) {
            let mesh = meshes.add(half.mesh());
            commands.spawn((
                Mesh3d(mesh.clone()),
                MeshMaterial3d(look.steel.clone()),
                Transform::default(),
                ToolHalf { tool, side, joint },
                children![hidden::surface(mesh.clone(), tint)],
            ));
            commands.spawn((ghost::surface(mesh, &look.ghost), ToolHalf { tool, side, joint }));
        }
    }
}

fn spawn_moving(commands: &mut Commands, meshes: &mut Assets<Mesh>, look: &Materials, tint: &Handle<hidden::Hidden>) {
    let mut moving = |material: &Handle<StandardMaterial>| {
        let handle = meshes.add(Surface::dot().mesh());
        // Culling would need a new box each frame, for a thing that is always in the middle of the picture.
        commands.spawn((
            Mesh3d(handle.clone()),
            MeshMaterial3d(material.clone()),
            bevy::camera::visibility::NoFrustumCulling,
        ));
        handle
    };
    let moving = Moving {
        thread: moving(&look.thread),
        capacity: 0,
        needle: moving(&look.steel),
        needle_points: 0,
        flaps: [moving(&look.gum), moving(&look.gum)],
    };
    commands.spawn((hidden::surface(moving.needle.clone(), tint), bevy::camera::visibility::NoFrustumCulling));
    commands.insert_resource(moving);
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn draw_thread(
    shown: Res<Shown>,
    site: Option<Res<Site>>,
    bench: Option<Res<BenchThread>>,
    detail: Res<Detail>,
    mut moving: ResMut<Moving>,
    mut meshes: ResMut<Assets<Mesh>>,
) {
    let (fold, thread) = match (&site, &bench) {
        (Some(site), _) => (fold(&site.0), site.0.thread.as_str()),
        // A bench does not slope.
        (None, bench) => (f32::INFINITY, bench.as_ref().map_or("", |bench| &bench.0)),
    };
    let drawn = |strand: &Vec<DVec3>| strand.iter().map(|node| ground::settled(*node, fold)).collect();
    let strands: Vec<Vec<Vec3>> = shown.0.strands.iter().map(drawn).collect();
    let tube = Tube {
        sides: detail.0.tube_sides(),
        rings: detail.0.tube_rings(),
        radius: shown.0.thread_radius as f32,
        taper: 1.0,
    };
    let needed = tube.ring_count(&strands);
    let grown = needed > moving.capacity;
    if grown {
        moving.capacity = needed.next_multiple_of(RING_STEP);
    }
    let surface = tube.surface(&strands, moving.capacity, palette::thread(thread));
    show(&surface, &moving.thread, grown, &mut meshes);
}

#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn draw_needle(shown: Res<Shown>, site: Res<Site>, mut moving: ResMut<Moving>, mut meshes: ResMut<Assets<Mesh>>) {
    let fold = fold(&site.0);
    let line: Vec<Vec3> = shown.0.needle.iter().map(|point| ground::settled(*point, fold)).collect();
    let strands = [line];
    let tube = Tube { sides: 12, rings: 2, radius: shown.0.needle_radius as f32, taper: 0.08 };
    let capacity = tube.ring_count(&strands).max(moving.needle_points);
    let grown = capacity > moving.needle_points;
    moving.needle_points = capacity;
    show(&tube.surface(&strands, capacity, Vec3::splat(0.62)), &moving.needle, grown, &mut meshes);
}

/// Distance of the flaps' fold from the middle of the wound [mm].
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn fold(plan: &SitePlan) -> f32 {
    (plan.half_gap + plan.height) as f32
}

fn draw_flaps(
    shown: Res<Shown>,
    site: Res<Site>,
    detail: Res<Detail>,
    moving: Res<Moving>,
    mut meshes: ResMut<Assets<Mesh>>,
) {
    let finer = 4 / usize::from(detail.0.coarseness());
    let fold = fold(&site.0);
    for (flap, handle) in shown.0.flaps.iter().zip(&moving.flaps) {
        let surface = flap::surface(flap, fold, finer);
        let fresh = meshes.get(handle).is_none_or(|mesh| mesh.count_vertices() != surface.points.len());
        show(&surface, handle, fresh, &mut meshes);
    }
}

/// Rewrites a mesh in place, or replaces it when its triangles are others.
fn show(surface: &Surface, handle: &Handle<Mesh>, fresh: bool, meshes: &mut Assets<Mesh>) {
    if surface.points.is_empty() {
        // Nothing has been drawn yet, such as a needle that was cut off before the attempt: room is never given back.
        return;
    }
    let Some(mut mesh) = meshes.get_mut(handle) else { return };
    if fresh {
        *mesh = surface.mesh();
    } else {
        surface.rewrite(&mut mesh);
    }
}

fn draw_tools(shown: Res<Shown>, mut halves: Query<(&ToolHalf, &mut Transform), Without<ghost::GhostHalf>>) {
    for (half, mut transform) in &mut halves {
        *transform = turned(half, &shown.0.tools[half.tool]);
    }
}

/// Where half of an instrument is.
#[expect(clippy::cast_possible_truncation, reason = "for the eye")]
fn turned(half: &ToolHalf, tool: &ToolView) -> Transform {
    // Jaws open along the instrument's z, which is the scene's y; its y is the scene's -z.
    let turn = Quat::from_rotation_z(-half.side * angle(half.joint, tool.gap as f32));
    let joint = Vec3::X * half.joint;
    let opened = Transform::from_translation(joint - turn * joint).with_rotation(turn);
    to_scene_transform(&tool.pose) * opened
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_mesh_is_ever_left_without_points() {
        let mut meshes = Assets::<Mesh>::default();
        let handle = meshes.add(Surface::dot().mesh());
        let points = |meshes: &Assets<Mesh>| meshes.get(&handle).map(Mesh::count_vertices);
        for fresh in [false, true] {
            show(&Surface::default(), &handle, fresh, &mut meshes);
            assert_eq!(points(&meshes), Some(3));
        }
        let needle = Tube { sides: 12, rings: 2, radius: 0.25, taper: 0.08 };
        let line = vec![vec![Vec3::ZERO, Vec3::X, 2.0 * Vec3::X]];
        let drawn = needle.surface(&line, needle.ring_count(&line), Vec3::ONE);
        show(&drawn, &handle, true, &mut meshes);
        assert_eq!(points(&meshes), Some(drawn.points.len()));
    }

    #[test]
    fn another_site_stands_instead_of_the_one_before() {
        let text = include_str!("../../../scenarios/first_stitch.ron");
        let mut scenario = crate::scenario::parse("first_stitch.ron", text).expect("it is shipped");
        let mut app = App::new();
        app.add_plugins((MinimalPlugins, AssetPlugin::default()))
            .init_asset::<Mesh>()
            .init_asset::<StandardMaterial>()
            .insert_resource(Detail(Preset::Low))
            .insert_resource(Site(SitePlan::new(&scenario, false)))
            .add_systems(Update, build_site.run_if(resource_exists_and_changed::<Site>));
        let look = make_materials(&mut app.world_mut().resource_mut::<Assets<StandardMaterial>>(), Preset::Low);
        app.insert_resource(look);
        let standing = |app: &mut App| {
            app.update();
            let mut query = app.world_mut().query_filtered::<(Entity, &Mesh3d), With<OfSite>>();
            query.iter(app.world()).map(|(entity, mesh)| (entity, mesh.0.clone())).collect::<Vec<_>>()
        };
        let before = standing(&mut app);
        // Ridge, membrane, mouth and five crowns.
        assert_eq!(before.len(), 8);
        assert_eq!(standing(&mut app), before, "nothing is built anew without a change");
        scenario.site.socket.mesiodistal_mm = 9.5;
        app.insert_resource(Site(SitePlan::new(&scenario, false)));
        let after = standing(&mut app);
        assert_eq!(after.len(), before.len());
        assert!(after.iter().all(|(_, mesh)| before.iter().all(|(_, other)| mesh != other)), "{after:?}");
    }
}
