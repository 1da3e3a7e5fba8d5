//! Which corner caused the loss: what goes wrong in one corner, alone on the reference ride, ridden on to the
//! finish; and taken away from the whole ride.

use crate::rides::pieced::pieced;
use crate::rides::prepared::Prepared;
use crate::rides::told::{piece_of, told_ride};
use rayon::prelude::*;
use sled_dynamics::analysis::losses::{LossFault, Losses, Ridden, losses};
use sled_dynamics::analysis::sections::{Section, sections};
use sled_dynamics::motion::descent::Descent;
use sled_dynamics::motion::precision::{Detail, Precision};
use sled_dynamics::riding::notes::Note;
use sled_dynamics::riding::pieces::Piece;
use sled_dynamics::riding::told_line::ToldPlace;

/// A descent with pieces of which some tell a line: planned anew through these, with the others as faults of that
/// ride. An error says in words why there is no such ride.
pub fn pieced_as_told(
    prepared: &Prepared<'_>,
    pieces: &[Piece],
    precision: Precision,
    detail: Detail,
) -> Result<Descent, String> {
    let places: Vec<ToldPlace> = pieces.iter().filter_map(|p| p.told).collect();
    if places.is_empty() {
        return Ok(pieced(prepared, pieces, precision, detail));
    }
    let told = prepared.with_ride(told_ride(prepared, &places)?.ride);
    Ok(pieced(&told, pieces, precision, detail))
}

/// What the faults of one section caused.
#[derive(Clone, Debug, PartialEq)]
pub struct Caused {
    /// The section they were made in, by its place among [`sections`].
    pub section: usize,
    /// Time at the finish (s) that they alone cost on the reference ride; none where control is lost or no such ride is found.
    pub alone_s: Option<f64>,
    /// Time at the finish (s) that the whole ride wins without them; none where control is lost.
    pub recovered_s: Option<f64>,
    /// Whether the whole ride without them comes to the finish.
    pub finishes_without: bool,
    /// Where the time that they alone cost showed on the clock, section by section (s).
    pub showed_s: Vec<f64>,
}

/// What every section caused.
#[derive(Clone, Debug, PartialEq)]
pub struct Causes {
    /// All sections of the track.
    pub sections: Vec<Section>,
    /// Those in which something went wrong, in order.
    pub caused: Vec<Caused>,
    /// The whole gap (s); none where control is lost.
    pub(crate) gap_s: Option<f64>,
    /// What the sections alone leave of the gap (s): faults that make each other worse or better.
    pub together_s: Option<f64>,
}

/// What the pieces of every section caused, where `reference` is the planned ride without and `ridden` with all of
/// them, both with a trace on the same stations of the given detail. A ride that loses control has causes as well.
pub fn causes(
    prepared: &Prepared<'_>,
    pieces: &[Piece],
    reference: &Descent,
    ridden: &Descent,
    (precision, detail): (Precision, Detail),
) -> Causes {
    let track = prepared.ready.track;
    let sections = sections(track);
    let inside = |p: &Piece, s: &Section| s.from_m <= p.of_m && p.of_m < s.to_m;
    let faulty: Vec<usize> =
        (0..sections.len()).filter(|i| pieces.iter().any(|p| inside(p, &sections[*i]))).collect();
    let gap_s = ridden.finish_time_s.zip(reference.finish_time_s).map(|(a, b)| a - b);
    // one after the other by index: the same on any number of threads
    let caused: Vec<Caused> = faulty
        .par_iter()
        .map(|&i| {
            let (own, others): (Vec<Piece>, Vec<Piece>) =
                pieces.iter().partition(|p| inside(p, &sections[i]));
            let alone = pieced_as_told(prepared, &own, precision, detail).ok();
            let told = alone.as_ref().and_then(|alone| against(prepared, alone, reference).ok());
            let without = if others.is_empty() {
                reference.finish_time_s
            } else {
                let rest = pieced_as_told(prepared, &others, precision, Detail::Bare);
                rest.ok().and_then(|d| d.finish_time_s)
            };
            Caused {
                section: i,
                alone_s: told.as_ref().map(|l| l.gap_s),
                finishes_without: without.is_some(),
                recovered_s: ridden.finish_time_s.zip(without).map(|(with, without)| with - without),
                showed_s: told
                    .map_or(vec![0.0; sections.len()], |l| l.sections.iter().map(|s| s.showed_s).collect()),
            }
        })
        .collect();
    let sum: Option<f64> = caused.iter().map(|c| c.alone_s).sum();
    Causes { together_s: sum.zip(gap_s).map(|(s, gap)| gap - s), gap_s, sections, caused }
}

/// Losses of one descent of this set-up against another of it.
pub fn against(prepared: &Prepared<'_>, ridden: &Descent, reference: &Descent) -> Result<Losses, LossFault> {
    let of = |descent| Ridden { descent, constants: &prepared.ready.constants };
    losses(prepared.ready.track, of(ridden), of(reference))
}

/// What a single fault would cost.
#[derive(Clone, Debug, PartialEq)]
pub struct WhatIf {
    /// The fault.
    pub note: Note,
    /// Time at the finish (s); none where control is lost.
    pub cost_s: Option<f64>,
    /// Least and greatest of that and of the same at half and at one and a half times the size (s); none where
    /// control is lost.
    pub band_s: [Option<f64>; 2],
    /// Walls touched more than on the reference ride.
    pub walls: usize,
    /// How the descent ended; none where there is no such ride.
    pub(crate) outcome: Option<sled_dynamics::motion::descent::Outcome>,
    /// Why there is no such ride.
    pub refused: Option<String>,
}

/// The shares of a size between which the band of a what-if lies `[-]`: what is told by eye is no surer, assumed.
pub(crate) const BAND: [f64; 2] = [0.5, 1.5];

/// What single faults would cost, the dearest first; lost control before all, what has
/// no ride behind all. Only the first `banded` are ridden at
/// other sizes as well; the others have the band of their own size.
pub fn what_ifs(prepared: &Prepared<'_>, notes: &[Note], banded: usize, precision: Precision) -> Vec<WhatIf> {
    let reference = pieced(prepared, &[], precision, Detail::Bare);
    let cost = |d: &Descent| d.finish_time_s.zip(reference.finish_time_s).map(|(a, b)| a - b);
    let ride = |note: Note| {
        let piece = piece_of(prepared, &note)?;
        pieced_as_told(prepared, &[piece], precision, Detail::Bare)
    };
    // losing control is dearer than any time
    let rank = |cost_s: Option<f64>| cost_s.unwrap_or(f64::INFINITY);
    let mut found: Vec<WhatIf> = notes
        .par_iter()
        .map(|&note| match ride(note) {
            Ok(d) => WhatIf {
                note,
                cost_s: cost(&d),
                band_s: [cost(&d); 2],
                walls: d.touches().saturating_sub(reference.touches()),
                outcome: Some(d.outcome),
                refused: None,
            },
            Err(why) => {
                WhatIf { note, cost_s: None, band_s: [None; 2], walls: 0, outcome: None, refused: Some(why) }
            }
        })
        .collect();
    // what has no ride comes last
    found.sort_by(|a, b| {
        let last = a.refused.is_some().cmp(&b.refused.is_some());
        last.then(rank(b.cost_s).total_cmp(&rank(a.cost_s)))
    });
    found.par_iter_mut().take(banded).filter(|w| w.refused.is_none()).for_each(|w| {
        let others = BAND.map(|share| ride(w.note.sized(w.note.size * share)));
        let mut all: Vec<Option<f64>> = others.iter().flatten().map(cost).chain([w.cost_s]).collect();
        all.sort_by(|a, b| rank(*a).total_cmp(&rank(*b)));
        w.band_s = [all[0], all[all.len() - 1]];
    });
    found
}
