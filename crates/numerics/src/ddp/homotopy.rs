//! A sequence of problems, each started from the solution of the one before.
//!
//! For prices that rise until a helper vanishes (virtual forces), limits that tighten,
//! or multipliers of an equation at the end (augmented Lagrangian).

use super::outcome::{Solution, Status};
use super::problem::Problem;
use super::settings::{Settings, StartFault};
use super::solve::{Start, solve};

/// How a homotopy ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HomotopyStatus {
    /// The measure is at or below the target, at a converged solution.
    Reached,
    /// All levels were solved, the measure stayed above the target.
    Exhausted {
        /// Measure at the end.
        measure: f64,
        /// Target.
        target: f64,
    },
    /// The last level did not converge, or an earlier one left nothing to go on from.
    Failed {
        /// The level, from zero.
        level: usize,
        /// Its status.
        status: Status,
    },
}

/// The last solution and the way to it.
#[derive(Clone, Debug)]
pub struct Homotopy<const N: usize, const M: usize> {
    /// How it ended.
    pub status: HomotopyStatus,
    /// Solution of the last level solved.
    pub solution: Solution<N, M>,
    /// Backward sweeps of all levels.
    pub sweeps: usize,
}

/// Solves level after level. `prepare` gets the number of the level and the solution
/// before it, and sets the problem; it returns false when there are no more levels
/// (level zero is always solved). `measure` tells what is to fall to `target`.
///
/// A level that stalls or runs out of iterations is gone on from, as long as its states
/// are a motion of the system or the next level can take up the gaps; only a converged
/// level can reach the target.
///
/// # Errors
/// The faults of the start and the settings.
pub fn homotopy<const N: usize, const M: usize, P: Problem<N, M>>(
    problem: &mut P,
    start: Start<'_, N, M>,
    settings: &Settings,
    target: f64,
    mut prepare: impl FnMut(usize, &mut P, Option<&Solution<N, M>>) -> bool,
    mut measure: impl FnMut(&P, &Solution<N, M>) -> f64,
) -> Result<Homotopy<N, M>, Vec<StartFault>> {
    prepare(0, problem, None);
    let mut solution = solve(problem, start, settings)?;
    let mut level = 0;
    let mut sweeps = solution.iterations;
    loop {
        let measured = measure(problem, &solution);
        let reached = measured <= target;
        let status = match solution.status {
            Status::Converged if reached => Some(HomotopyStatus::Reached),
            Status::LeftDomain { .. } => Some(HomotopyStatus::Failed { level, status: solution.status }),
            _ => None,
        };
        if let Some(status) = status {
            return Ok(Homotopy { status, solution, sweeps });
        }
        if !prepare(level + 1, problem, Some(&solution)) {
            let status = match solution.status {
                Status::Converged => HomotopyStatus::Exhausted { measure: measured, target },
                status => HomotopyStatus::Failed { level, status },
            };
            return Ok(Homotopy { status, solution, sweeps });
        }
        solution = solve(problem, Start::from(&solution), settings)?;
        sweeps += solution.iterations;
        level += 1;
    }
}
