//! The way down in sections that together cover it: the start, each corner with half of the straights beside it,
//! and the way to the finish.

use track_geometry::track::Track;

/// A section of the way.
#[derive(Clone, Debug, PartialEq)]
pub struct Section {
    /// Name: "start", that of a corner, or "finish".
    pub name: String,
    /// The corner in it, by its place in the list.
    pub corner: Option<usize>,
    /// Where it begins (m).
    pub from_m: f64,
    /// Where it ends (m).
    pub to_m: f64,
}

/// The way before the first corner and behind the last that belongs to it (m), assumed.
const BESIDE_M: f64 = 10.0;

/// The sections of a track from its first station to its last eye.
pub fn sections(track: &Track) -> Vec<Section> {
    let (first_m, finish_m) = (track.surface.range_m().0, track.finish_m());
    let corners = &track.data.corners;
    let mut sections = vec![Section { name: "start".into(), corner: None, from_m: first_m, to_m: finish_m }];
    for (i, corner) in corners.iter().enumerate() {
        let from_m = match i.checked_sub(1) {
            Some(before) => 0.5 * (corners[before].exit_m + corner.entry_m),
            None => corner.entry_m - BESIDE_M,
        };
        let from_m = from_m.clamp(first_m, finish_m);
        if from_m >= finish_m {
            break;
        }
        if let Some(last) = sections.last_mut() {
            last.to_m = from_m;
        }
        sections.push(Section { name: corner.name.clone(), corner: Some(i), from_m, to_m: finish_m });
    }
    let end_m = corners.last().map_or(finish_m, |c| c.exit_m + BESIDE_M);
    if let Some(last) = sections.last_mut().filter(|s| s.corner.is_some() && end_m < finish_m) {
        last.to_m = end_m;
        sections.push(Section { name: "finish".into(), corner: None, from_m: end_m, to_m: finish_m });
    }
    sections
}
