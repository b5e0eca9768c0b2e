//! Triangles in the making: points, colours and normals that become a mesh.

use bevy::asset::RenderAssetUsages;
use bevy::math::Vec3;
use bevy::mesh::{Indices, Mesh, PrimitiveTopology};

/// A coloured triangle surface in scene coordinates [mm].
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Surface {
    /// Places [mm].
    pub points: Vec<Vec3>,
    /// Linear colours, one a point.
    pub colours: Vec<Vec3>,
    /// Corners, three a triangle, counter-clockwise from outside.
    pub corners: Vec<u32>,
}

impl Surface {
    /// A triangle without area, to begin with: the engine logs an error for a mesh that has no points.
    #[must_use]
    pub fn dot() -> Surface {
        Surface { points: vec![Vec3::ZERO; 3], colours: vec![Vec3::ONE; 3], corners: vec![0, 1, 2] }
    }

    /// The number of the point that is added next.
    #[must_use]
    pub fn next_number(&self) -> u32 {
        u32::try_from(self.points.len()).expect("a mesh has fewer points than fit 32 bits")
    }

    /// Adds a point and gives its number.
    pub fn point(&mut self, place: Vec3, colour: Vec3) -> u32 {
        let number = self.next_number();
        self.points.push(place);
        self.colours.push(colour);
        number
    }

    /// Joins the points of two rows of `count` points each, row by row, into quads; `closed` joins the last to the first.
    pub fn join(&mut self, low: u32, high: u32, count: u32, closed: bool) {
        for i in 0..if closed { count } else { count - 1 } {
            let next = (i + 1) % count;
            self.quad([low + i, low + next, high + next, high + i]);
        }
    }

    /// A quad, corners counter-clockwise from outside.
    pub fn quad(&mut self, [a, b, c, d]: [u32; 4]) {
        self.corners.extend_from_slice(&[a, b, c, a, c, d]);
    }

    /// Closes a ring of `count` points with a fan about `middle`.
    pub fn fan(&mut self, ring: u32, count: u32, middle: u32, outward: bool) {
        for i in 0..count {
            let (here, next) = (ring + i, ring + (i + 1) % count);
            let triangle = if outward { [here, next, middle] } else { [next, here, middle] };
            self.corners.extend_from_slice(&triangle);
        }
    }

    /// Normals, each the mean of its triangles' by area.
    #[must_use]
    pub fn normals(&self) -> Vec<Vec3> {
        let mut normals = vec![Vec3::ZERO; self.points.len()];
        for triangle in self.corners.chunks_exact(3) {
            let [a, b, c] = [triangle[0], triangle[1], triangle[2]].map(|i| self.points[i as usize]);
            let area = (b - a).cross(c - a);
            for &corner in triangle {
                normals[corner as usize] += area;
            }
        }
        normals.into_iter().map(|normal| normal.normalize_or(Vec3::Y)).collect()
    }

    /// The mesh. It stays readable in the main world, so that it can be rewritten in place.
    #[must_use]
    pub fn mesh(&self) -> Mesh {
        let usage = RenderAssetUsages::MAIN_WORLD | RenderAssetUsages::RENDER_WORLD;
        let mut mesh = Mesh::new(PrimitiveTopology::TriangleList, usage);
        mesh.insert_indices(Indices::U32(self.corners.clone()));
        self.insert(&mut mesh, self.normals());
        mesh
    }

    /// Rewrites a mesh of the same triangles.
    pub fn rewrite(&self, mesh: &mut Mesh) {
        self.insert(mesh, self.normals());
    }

    fn insert(&self, mesh: &mut Mesh, normals: Vec<Vec3>) {
        let plain = |list: &[Vec3]| list.iter().map(|v| v.to_array()).collect::<Vec<_>>();
        let colours: Vec<[f32; 4]> = self.colours.iter().map(|c| [c.x, c.y, c.z, 1.0]).collect();
        mesh.insert_attribute(Mesh::ATTRIBUTE_POSITION, plain(&self.points));
        mesh.insert_attribute(Mesh::ATTRIBUTE_NORMAL, plain(&normals));
        mesh.insert_attribute(Mesh::ATTRIBUTE_COLOR, colours);
    }
}
