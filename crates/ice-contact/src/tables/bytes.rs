//! A table as bytes and back, exact to the last bit.

use super::{Built, CentroidAxis, MOTION, NODES, REPORT, RunnerTable};
use crate::runner::RunnerSpec;
use numerics::checksum::fnv1a;
use numerics::grid_spline::GridSpline;

/// Form of the bytes of a table; another one is not read.
const FORM: u64 = 1;

impl RunnerTable {
    /// The table as bytes: form, how it was built, coefficients, and an FNV-1a of all before; little-endian.
    pub(crate) fn bytes(&self) -> Vec<u8> {
        let motion = self.motion.coefficients().as_flattened();
        let report = self.report.coefficients().as_flattened();
        let head = [FORM, self.built.solved as u64, self.built.left_out as u64];
        let mut bytes: Vec<u8> = head.iter().flat_map(|v| v.to_le_bytes()).collect();
        bytes.extend(motion.iter().chain(report).flat_map(|v| v.to_le_bytes()));
        bytes.extend(fnv1a(&bytes).to_le_bytes());
        bytes
    }

    /// A table from its bytes, of the same runner; `None` for bytes that are not whole.
    pub(crate) fn of_bytes(bytes: &[u8], runner: &RunnerSpec) -> Option<RunnerTable> {
        let (body, sum) = bytes.split_last_chunk::<8>()?;
        let (head, body) = body.split_at_checked(24)?;
        let whole = fnv1a(&bytes[..bytes.len() - 8]) == u64::from_le_bytes(*sum);
        let [form, solved, left_out] =
            [0, 8, 16].map(|i| head[i..].first_chunk::<8>().map_or(0, |b| u64::from_le_bytes(*b)));
        let cells = NODES.iter().map(|n| n + 2).product::<usize>();
        if !whole || form != FORM || body.len() != 4 * cells * (MOTION + REPORT) {
            return None;
        }
        let numbers: Vec<f32> = body.as_chunks::<4>().0.iter().map(|b| f32::from_le_bytes(*b)).collect();
        let (motion, report) = numbers.split_at_checked(cells * MOTION)?;
        Some(RunnerTable {
            motion: GridSpline::of_coefficients(NODES, motion.as_chunks().0.to_vec())?,
            report: GridSpline::of_coefficients(NODES, report.as_chunks().0.to_vec())?,
            centroid: CentroidAxis::new(runner.groove_start_m),
            built: Built { solved: solved as usize, left_out: left_out as usize },
        })
    }
}
