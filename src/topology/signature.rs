//! The signature of a knot from a checkerboard colouring of its diagram, in integers.
//!
//! Source: Gordon and Litherland 1978, On the signature of a link, Invent. Math. 47, 53-69: the signature is that of
//! the Goeritz form of a surface spanned by the knot, corrected by half the surface's Euler number. Sign convention:
//! the right-handed trefoil has signature -2.

use super::diagram::Diagram;

/// What one colouring of a diagram gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct GoeritzReading {
    /// Signature of the knot; negative for right-handed torus knots.
    pub signature: i32,
    /// Determinant of the knot, positive.
    pub determinant: i64,
}

/// Signature and determinant of the diagram's knot.
///
/// `None` if the code cannot be drawn in the plane, or is so large that the integers overflow.
#[must_use]
pub fn signature(diagram: &Diagram) -> Option<GoeritzReading> {
    if diagram.crossing_count() == 0 {
        return Some(GoeritzReading { signature: 0, determinant: 1 });
    }
    let faces = Faces::of(diagram)?;
    let white = faces.rarer_colour();
    let (form, correction) = goeritz_form(diagram, &faces, white);
    let (form_signature, determinant) = inertia(form)?;
    Some(GoeritzReading { signature: form_signature - correction, determinant })
}

/// The four half-edges at a crossing are numbered counterclockwise from the outgoing upper one; quarter q lies between
/// half-edges q and q + 1.
struct Faces {
    /// Face in each quarter, shape `[crossing_count][4]`.
    face: Vec<[usize; 4]>,
    /// Colour of each face, shape `[face_count]`.
    colour: Vec<bool>,
}

impl Faces {
    /// `None` if the faces do not make a sphere.
    fn of(diagram: &Diagram) -> Option<Self> {
        const UNSEEN: usize = usize::MAX;
        let (over, under) = diagram.positions();
        let crossing_count = diagram.crossing_count();
        let mut face = vec![[UNSEEN; 4]; crossing_count];
        let mut colour = Vec::new();
        for start in 0..4 * crossing_count {
            let (mut crossing, mut quarter) = (start / 4, start % 4);
            if face[crossing][quarter] != UNSEEN {
                continue;
            }
            colour.push(left_colour(diagram, &over, &under, crossing, quarter));
            // Walk with the face on the left: leave a crossing by the half-edge that bounds the quarter clockwise.
            while face[crossing][quarter] == UNSEEN {
                face[crossing][quarter] = colour.len() - 1;
                let (next, arriving) = across_edge(diagram, &over, &under, crossing, quarter);
                (crossing, quarter) = (next, (arriving + 3) % 4);
            }
        }
        (colour.len() == crossing_count + 2).then_some(Self { face, colour })
    }

    fn rarer_colour(&self) -> bool {
        2 * self.colour.iter().filter(|&&colour| colour).count() <= self.colour.len()
    }
}

/// Half-edge numbers of the strand below: (incoming, outgoing).
fn below(sign: i8) -> (usize, usize) {
    if sign > 0 { (3, 1) } else { (1, 3) }
}

/// The visit whose passage owns half-edge `half` of a crossing, and whether the half-edge leaves the crossing.
fn owner(diagram: &Diagram, over: &[usize], under: &[usize], crossing: usize, half: usize) -> (usize, bool) {
    match half {
        0 => (over[crossing], true),
        2 => (over[crossing], false),
        _ => (under[crossing], below(diagram.signs()[crossing]).1 == half),
    }
}

/// Follows half-edge `half` away from a crossing: the crossing at its other end and the half-edge it arrives by.
fn across_edge(diagram: &Diagram, over: &[usize], under: &[usize], crossing: usize, half: usize) -> (usize, usize) {
    let (position, leaves) = owner(diagram, over, under, crossing, half);
    let visit_count = diagram.visits().len();
    let step = if leaves { 1 } else { visit_count - 1 };
    let visit = diagram.visits()[(position + step) % visit_count];
    let (incoming, outgoing) = if visit.over { (2, 0) } else { below(diagram.signs()[visit.crossing]) };
    (visit.crossing, if leaves { incoming } else { outgoing })
}

/// Colour of the face on the left when leaving a crossing by half-edge `half`.
///
/// Along the strand the colours left and right swap at each passage.
fn left_colour(diagram: &Diagram, over: &[usize], under: &[usize], crossing: usize, half: usize) -> bool {
    // Leaving backwards looks at the other side of the edge before: both changes cancel.
    let (position, _) = owner(diagram, over, under, crossing, half);
    position.is_multiple_of(2)
}

/// Goeritz form of the surface made of the faces that are not `white`, and the correction of its signature.
fn goeritz_form(diagram: &Diagram, faces: &Faces, white: bool) -> (Vec<Vec<i64>>, i32) {
    let mut number = vec![0; faces.colour.len()];
    let mut white_count = 0;
    for (face, _) in faces.colour.iter().enumerate().filter(|&(_, &colour)| colour == white) {
        number[face] = white_count;
        white_count += 1;
    }
    let mut form = vec![vec![0; white_count]; white_count];
    let mut correction = 0;
    for (crossing, quarters) in faces.face.iter().enumerate() {
        let white_is_even = faces.colour[quarters[0]] == white;
        let weight = if white_is_even { -1 } else { 1 };
        let (a, b) = if white_is_even { (quarters[0], quarters[2]) } else { (quarters[1], quarters[3]) };
        let (a, b) = (number[a], number[b]);
        form[a][a] += weight;
        form[b][b] += weight;
        form[a][b] -= weight;
        form[b][a] -= weight;
        // The surface's band cannot be oriented where both strands run the same way along it.
        let sign = diagram.signs()[crossing];
        let same_way = (sign > 0) != white_is_even;
        if same_way {
            correction += i32::from(sign);
        }
    }
    form.pop();
    form.iter_mut().for_each(|row| {
        row.pop();
    });
    (form, correction)
}

/// Signature and absolute determinant of a symmetric integer matrix: units are split off, the rest is eliminated without
/// fractions (Bareiss 1968).
///
/// `None` if the matrix is singular, which a knot's never is, or the integers overflow.
fn inertia(form: Vec<Vec<i64>>) -> Option<(i32, i64)> {
    let (mut signature, mut form) = split_off_units(form)?;
    let size = form.len();
    let mut minor = 1;
    for step in 0..size {
        bring_pivot(&mut form, step)?;
        let pivot = form[step][step];
        // Each pivot is a leading minor; the form's own entry there is its ratio to the one before.
        signature += if (pivot > 0) == (minor > 0) { 1 } else { -1 };
        for i in step + 1..size {
            for j in step + 1..size {
                // Two products of two 64-bit integers fit into 128 bits.
                let product = |a: i64, b: i64| i128::from(a) * i128::from(b);
                form[i][j] = divide(product(form[i][j], pivot) - product(form[i][step], form[step][j]), minor)?;
            }
        }
        minor = pivot;
    }
    Some((signature, minor.abs()))
}

/// Splits off parts of determinant 1 or -1 as long as there are any: their signature, and the matrix that is left.
///
/// They are what a diagram has more than it needs. What is left has integers without any division and is small.
fn split_off_units(mut form: Vec<Vec<i64>>) -> Option<(i32, Vec<Vec<i64>>)> {
    let mut left: Vec<usize> = (0..form.len()).collect();
    let mut signature = 0;
    loop {
        let of_square_0 = left.iter().copied().filter(|&i| form[i][i] == 0);
        let with_product_1 = |i: usize| left.iter().copied().find(|&j| form[i][j].abs() == 1);
        if let Some(i) = left.iter().copied().find(|&i| form[i][i].abs() == 1) {
            let (row, square) = (form[i].clone(), form[i][i]);
            signature += if square > 0 { 1 } else { -1 };
            left.retain(|&k| k != i);
            subtract_products(&mut form, &left, square, [&row, &row])?;
        } else if let Some((i, j)) = of_square_0.filter_map(|i| Some((i, with_product_1(i)?))).next() {
            // The inverse of this pair's matrix (0, b; b, d) is (-d, b; b, 0); its signature is 0.
            let (first, second, b, d) = (form[i].clone(), form[j].clone(), form[i][j], form[j][j]);
            left.retain(|&k| k != i && k != j);
            subtract_products(&mut form, &left, d.checked_neg()?, [&first, &first])?;
            subtract_products(&mut form, &left, b, [&first, &second])?;
            subtract_products(&mut form, &left, b, [&second, &first])?;
        } else {
            let rest = left.iter().map(|&i| left.iter().map(|&j| form[i][j]).collect()).collect();
            return Some((signature, rest));
        }
    }
}

/// Subtracts `factor` * a * b from each entry that is left; `None` if the integers overflow.
fn subtract_products(form: &mut [Vec<i64>], left: &[usize], factor: i64, [a, b]: [&[i64]; 2]) -> Option<()> {
    for &i in left.iter().filter(|&&i| a[i] != 0) {
        let times = factor.checked_mul(a[i])?;
        for &j in left {
            form[i][j] = form[i][j].checked_sub(times.checked_mul(b[j])?)?;
        }
    }
    Some(())
}

/// A quotient, quickly where the numbers are small; `None` if it is too large.
fn divide(dividend: i128, divisor: i64) -> Option<i64> {
    match i64::try_from(dividend) {
        Ok(dividend) => dividend.checked_div(divisor),
        Err(_) => i64::try_from(dividend / i128::from(divisor)).ok(),
    }
}

/// Makes the diagonal entry at `step` other than 0 by a change of basis that keeps the form's signature.
fn bring_pivot(form: &mut [Vec<i64>], step: usize) -> Option<()> {
    let size = form.len();
    if let Some(other) = (step..size).find(|&i| form[i][i] != 0) {
        form.swap(step, other);
        form.iter_mut().for_each(|row| row.swap(step, other));
        return Some(());
    }
    // All diagonal entries are 0: adding one basis vector to another makes twice their product.
    let (i, j) = (step..size).flat_map(|i| (i + 1..size).map(move |j| (i, j))).find(|&(i, j)| form[i][j] != 0)?;
    let added = form[j].clone();
    for (entry, more) in form[i].iter_mut().zip(added) {
        *entry = entry.checked_add(more)?;
    }
    for row in form.iter_mut() {
        row[i] = row[i].checked_add(row[j])?;
    }
    bring_pivot(form, step)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_that_are_split_off_keep_signature_and_determinant() {
        // Worked out by hand: form, signature, determinant.
        let cases: [(&[&[i64]], i32, i64); 5] = [
            (&[&[1, 2], &[2, 7]], 2, 3),
            (&[&[0, 1], &[1, 3]], 0, 1),
            // What is left across the pair has square 3 - 2 * 5 * 1 + 2 * 5 * 5.
            (&[&[0, 1, 5], &[1, 2, 1], &[5, 1, 3]], 1, 43),
            (&[&[2, 1], &[1, -3]], 0, 7),
            (&[&[-1, 1, 0], &[1, -3, 1], &[0, 1, -3]], -3, 5),
        ];
        for (form, signature, determinant) in cases {
            let found = inertia(form.iter().map(|row| row.to_vec()).collect());
            assert_eq!(found, Some((signature, determinant)), "{form:?}");
        }
    }
}
