//! Lines on a grid of values: where a value is crossed, and the outline of a set of cells.
//!
//! Places are in steps of the grid: the value of column `i` and row `j` stands at `(i, j)`.

/// Two ends of a piece of a line.
pub(crate) type Piece = [(f64, f64); 2];

/// Where the values, linear between neighbours, cross a level; squares that lack a value are left out.
/// In a saddle the pieces are joined in the order of the sides.
pub(crate) fn crossings(values: &[Vec<Option<f64>>], level: f64) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for (j, rows) in values.windows(2).enumerate() {
        for i in 1..rows[0].len().min(rows[1].len()) {
            let corners = [(i - 1, 0), (i, 0), (i, 1), (i - 1, 1)];
            let Some(at) = corners
                .iter()
                .map(|(i, up)| rows[*up][*i].map(|v| (*i as f64, (j + up) as f64, v - level)))
                .collect::<Option<Vec<_>>>()
            else {
                continue;
            };
            let met: Vec<(f64, f64)> = (0..4)
                .map(|side| (at[side], at[(side + 1) % 4]))
                .filter(|(a, b)| (a.2 > 0.0) != (b.2 > 0.0))
                .map(|(a, b)| {
                    let t = a.2 / (a.2 - b.2);
                    (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))
                })
                .collect();
            pieces.extend(met.chunks_exact(2).map(|p| [p[0], p[1]]));
        }
    }
    pieces
}

/// The outline of the cells that belong to a set, each cell a step wide around its place.
pub(crate) fn outline(inside: &[Vec<bool>]) -> Vec<Piece> {
    let is = |i: i64, j: i64| {
        let row = usize::try_from(j).ok().and_then(|j| inside.get(j));
        row.and_then(|row| usize::try_from(i).ok().and_then(|i| row.get(i))).is_some_and(|v| *v)
    };
    let mut pieces = Vec::new();
    for (j, row) in inside.iter().enumerate() {
        for i in (0..row.len()).filter(|i| row[*i]) {
            let (x, y) = (i as f64, j as f64);
            for (di, dj) in [(-1, 0), (1, 0), (0, -1), (0, 1)] {
                if !is(i as i64 + di, j as i64 + dj) {
                    // the side of the cell towards the neighbour that is outside
                    let (cx, cy) = (x + 0.5 * di as f64, y + 0.5 * dj as f64);
                    let (hx, hy) = (0.5 * dj as f64, 0.5 * di as f64);
                    pieces.push([(cx - hx, cy - hy), (cx + hx, cy + hy)]);
                }
            }
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exact_crossings_of_a_plane() {
        // v = 2 i + j crosses 2.5 on the line 2 x + y = 2.5
        let plane: Vec<Vec<_>> =
            (0..4).map(|j| (0..3).map(|i| Some(2.0 * f64::from(i) + f64::from(j))).collect()).collect();
        let pieces = crossings(&plane, 2.5);
        // from (1.25, 0) to (0, 2.5): through two columns and the rows below 2.5, four squares
        assert_eq!(pieces.len(), 4);
        for (x, y) in pieces.into_iter().flatten() {
            // sums of quarters are exact in binary
            assert!((2.0 * x + y - 2.5).abs() < 1e-12, "{x} {y}");
        }
        assert!(crossings(&plane, 99.0).is_empty());
    }

    #[test]
    fn exact_squares_without_a_value_are_left_out() {
        let mut values = vec![vec![Some(0.0), Some(1.0)]; 2];
        assert_eq!(crossings(&values, 0.5), vec![[(0.5, 0.0), (0.5, 1.0)]]);
        values[1][0] = None;
        assert!(crossings(&values, 0.5).is_empty());
    }

    #[test]
    fn exact_outline_of_one_and_two_cells() {
        let one = outline(&[vec![false, true, false]]);
        assert_eq!(one.len(), 4);
        assert!(one.contains(&[(0.5, 0.5), (0.5, -0.5)]) || one.contains(&[(0.5, -0.5), (0.5, 0.5)]));
        // two neighbours share a side that is not drawn
        assert_eq!(outline(&[vec![true, true]]).len(), 6);
        assert!(outline(&[vec![false]]).is_empty());
    }
}
