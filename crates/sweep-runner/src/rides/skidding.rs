//! A skid that is told of: the kick that turns the nose of a planned sled as far as it was seen to go.
//!
//! A yaw moment acts from the place on, as long as a kick that disturbs a ride; its size is found such that the
//! greatest slip, until 1.5 s after it began, is the one that was told. The athlete is the regulator of the plan: no toe,
//! no patience. *Assumed*; *checked by* `plan_told_skids_come_to_their_angle`.

use crate::rides::pieced::pieced;
use crate::rides::prepared::Prepared;
use numerics::roots::brent;
use sled_dynamics::laws::disturbance::KICK_S;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::notes::Note;
use sled_dynamics::riding::pieces::Piece;
use track_geometry::track::Hand;

/// The greatest slip is looked for so long after it began (s).
const WATCHED_S: f64 = 1.5;
/// First kick that is tried, and the greatest (N m): beyond it no athlete stays on the sled.
const KICKS_N_M: [f64; 2] = [10.0, 1000.0];
/// The kick is found to this (N m), a hundredth of a degree of slip.
const CLOSE_N_M: f64 = 0.01;
const TRACE_M: f64 = 0.5;

/// The kick behind a skid, at about this speed; an error says why there is none.
pub(crate) fn skidding(prepared: &Prepared<'_>, note: &Note, speed_m_s: f64) -> Result<Piece, String> {
    let track = prepared.ready.track;
    let from_m = note.place_m(track);
    let until_m = from_m + WATCHED_S * speed_m_s;
    // the nose to the left: the way lies to the right of the axis
    let left = if note.side == Hand::Left { 1.0 } else { -1.0 };
    let kicked = |yaw_n_m: f64| Piece {
        yaw_n_m: left * yaw_n_m,
        ..Piece::between(from_m, (from_m + KICK_S * speed_m_s).min(track.finish_m()))
    };
    let beyond_deg = |yaw_n_m: f64| {
        let d = pieced(prepared, &[kicked(yaw_n_m)], Precision::default(), Detail::Trace(TRACE_M));
        let near = d.trace.iter().filter(|s| from_m <= s.station_m && s.station_m <= until_m);
        near.map(|s| -left * s.slip_rad.to_degrees()).fold(f64::NEG_INFINITY, f64::max) - note.size
    };
    let none = beyond_deg(0.0);
    if none >= 0.0 {
        let (words, slip) = (note.words(track), none + note.size);
        return Err(format!("{words}: the planned ride slips by {slip:.1} deg there without a skid"));
    }
    let [mut most, last] = KICKS_N_M;
    while beyond_deg(most) < 0.0 {
        if most >= last {
            return Err(format!("{}: no kick up to {last:.0} N m turns the sled so far", note.words(track)));
        }
        most = (2.0 * most).min(last);
    }
    brent(0.0, most, CLOSE_N_M, beyond_deg)
        .map(kicked)
        .ok_or_else(|| format!("{}: no kick was found", note.words(track)))
}
