//! The iteration: expand, sweep back, judge, step.

use super::backward::{Law, Weights, sweep};
use super::dense::difference;
use super::forward::{Forecast, Trajectory, forecast};
use super::outcome::{Iteration, Solution, Stall, Status};
use super::problem::{Expansion, FinalExpansion, Limits, Problem};
use super::regularisation::Regularisation;
use super::settings::{Settings, StartFault};

/// Where to start.
#[derive(Clone, Copy, Debug)]
pub enum Start<'a, const N: usize, const M: usize> {
    /// First state and controls; the states follow from the dynamics, open loop.
    Controls {
        /// First state.
        first: [f64; N],
        /// Controls, one for each stage.
        controls: &'a [[f64; M]],
    },
    /// States and controls that need not fit each other; the first state is the given one.
    Trajectory {
        /// States, one more than stages.
        states: &'a [[f64; N]],
        /// Controls, one for each stage.
        controls: &'a [[f64; M]],
    },
}

impl<'a, const N: usize, const M: usize> From<&'a Solution<N, M>> for Start<'a, N, M> {
    fn from(solution: &'a Solution<N, M>) -> Self {
        Start::Trajectory { states: &solution.states, controls: &solution.controls }
    }
}

/// Solves `problem` from `start`.
///
/// # Errors
/// All faults of the start and the settings. A solve that does not reach an optimum is
/// no error: its [`Status`] says so.
pub fn solve<const N: usize, const M: usize, P: Problem<N, M>>(
    problem: &P,
    start: Start<'_, N, M>,
    settings: &Settings,
) -> Result<Solution<N, M>, Vec<StartFault>> {
    let stages = problem.stages();
    let limits: Vec<_> = (0..stages).map(|k| problem.limits(k)).collect();
    let faults = faults(&start, settings, &limits);
    if !faults.is_empty() {
        return Err(faults);
    }
    let (states, controls, given) = match start {
        Start::Controls { first, controls } => (vec![first; stages + 1], controls, false),
        Start::Trajectory { states, controls } => (states.to_vec(), controls, true),
    };
    let controls = controls.iter().zip(&limits).map(|(u, limits)| limits.clamp(*u)).collect();
    let mut now = Trajectory { states, controls, gaps: vec![[0.0; N]; stages], cost: 0.0 };
    let begun = if given { now.measure(problem) } else { now.follow(problem) };
    let mut work = Work {
        problem,
        settings,
        tried: now.clone(),
        now,
        rooms: limits.clone(),
        limits,
        expansions: vec![Expansion::ZERO; stages],
        last: FinalExpansion { cost_x: [0.0; N], cost_xx: [[0.0; N]; N] },
        laws: vec![Law::ZERO; stages],
        costates: vec![[0.0; N]; stages],
        regularisation: Regularisation::new(settings),
        share: 1.0,
        gap_price: 0.0,
        history: Vec::new(),
    };
    let status = match begun {
        Ok(()) => work.iterate(),
        Err(stage) => Status::LeftDomain { stage },
    };
    Ok(Solution {
        status,
        gap: work.now.greatest_gap(),
        states: work.now.states,
        controls: work.now.controls,
        gains: work.laws.iter().map(|law| law.gain).collect(),
        costates: work.costates,
        cost: work.now.cost,
        iterations: work.history.len(),
        history: work.history,
    })
}

fn faults<const N: usize, const M: usize>(
    start: &Start<'_, N, M>,
    settings: &Settings,
    limits: &[Limits<M>],
) -> Vec<StartFault> {
    let stages = limits.len();
    let mut out: Vec<_> = settings.faults().collect();
    let (states, controls) = match start {
        Start::Controls { first, controls } => (std::slice::from_ref(first), controls),
        Start::Trajectory { states, controls } => {
            if states.len() != stages + 1 {
                out.push(StartFault::States { got: states.len(), wanted: stages + 1 });
            }
            (*states, controls)
        }
    };
    if controls.len() != stages {
        out.push(StartFault::Controls { got: controls.len(), stages });
    }
    for (stage, u) in controls.iter().enumerate() {
        for (entry, &got) in u.iter().enumerate().filter(|(_, v)| !v.is_finite()) {
            out.push(StartFault::Control { stage, entry, got });
        }
    }
    for (stage, x) in states.iter().enumerate() {
        for (entry, &got) in x.iter().enumerate().filter(|(_, v)| !v.is_finite()) {
            out.push(StartFault::State { stage, entry, got });
        }
    }
    for (stage, limits) in limits.iter().enumerate() {
        for (entry, (&lower, &upper)) in limits.lower.iter().zip(&limits.upper).enumerate() {
            let fits = lower <= upper && lower < f64::INFINITY && upper > f64::NEG_INFINITY;
            if !fits {
                out.push(StartFault::Limits { stage, entry, lower, upper });
            }
        }
    }
    out
}

struct Work<'a, const N: usize, const M: usize, P> {
    problem: &'a P,
    settings: &'a Settings,
    limits: Vec<Limits<M>>,
    now: Trajectory<N, M>,
    tried: Trajectory<N, M>,
    /// Limits of the change of the controls at `now`.
    rooms: Vec<Limits<M>>,
    expansions: Vec<Expansion<N, M>>,
    last: FinalExpansion<N>,
    laws: Vec<Law<N, M>>,
    costates: Vec<[f64; N]>,
    regularisation: Regularisation,
    /// Length of the last step taken.
    share: f64,
    /// Price of all gaps together, as a multiple of their share still open.
    gap_price: f64,
    history: Vec<Iteration>,
}

enum Search {
    Took(f64),
    Failed { left_domain_at: Option<usize> },
}

impl<const N: usize, const M: usize, P: Problem<N, M>> Work<'_, N, M, P> {
    fn iterate(&mut self) -> Status {
        let mut moved = true;
        // a sweep failed here: with less regularisation it would fail again
        let mut indefinite = false;
        while self.history.len() < self.settings.iterations {
            if moved && let Err(stage) = self.expand() {
                return Status::LeftDomain { stage };
            }
            indefinite &= !moved;
            moved = false;
            let gap = self.now.greatest_gap();
            let mut row = Iteration {
                cost: self.now.cost,
                gap,
                slope: f64::NAN,
                gradient: f64::NAN,
                regularisation: self.regularisation.value(),
                step: 0.0,
            };
            if let Err(stage) = self.sweep(self.regularisation.weights()) {
                self.history.push(row);
                indefinite = true;
                if !self.regularisation.raise() {
                    return Status::Stalled(Stall::NotConvex { stage });
                }
                continue;
            }
            let forecast = |rooms| forecast(&self.expansions, &self.last, &self.now.gaps, rooms, &self.laws);
            let (cut, uncut) = (forecast(Some(&self.rooms[..])), forecast(None));
            row.slope = cut.slope;
            row.gradient = self.laws.iter().fold(0.0, |most, law| most.max(law.gradient));
            let small = cut.slope.abs() <= self.settings.gain_tolerance * self.now.cost.abs();
            let closed = gap <= self.settings.gap_tolerance;
            let stationary = row.gradient <= self.settings.gradient_tolerance;
            let exact = self.regularisation.value() <= self.settings.regularisation_at_end;
            if closed && (stationary || small && exact) {
                self.history.push(row);
                return self.converged();
            }
            if closed && self.creeps() {
                return Status::Creeping;
            }
            if closed && small && !indefinite {
                self.history.push(row);
                self.regularisation.lower();
                continue;
            }
            match self.search(cut.slope, uncut, gap > 0.0) {
                Search::Took(share) => {
                    row.step = share;
                    moved = true;
                    if share >= 0.25 {
                        self.regularisation.lower();
                    } else {
                        self.regularisation.raise();
                    }
                    self.history.push(row);
                }
                Search::Failed { left_domain_at } => {
                    self.history.push(row);
                    if !self.regularisation.raise() {
                        return Status::Stalled(Stall::NoDescent { left_domain_at });
                    }
                }
            }
        }
        Status::MaxIterations
    }

    /// True if the cost fell too little over the last sweeps, all of them without gaps.
    fn creeps(&self) -> bool {
        let Some(from) = self.history.len().checked_sub(self.settings.patience) else { return false };
        let last = &self.history[from..];
        let closed = last.iter().all(|row| row.gap <= self.settings.gap_tolerance);
        let fell = last.first().map_or(f64::INFINITY, |row| row.cost - self.now.cost);
        closed && fell <= self.settings.gain_tolerance * self.now.cost.abs()
    }

    /// Sweeps once more for gains without regularisation, if the Hessians allow it.
    fn converged(&mut self) -> Status {
        let none = Weights { state: 0.0, control: 0.0 };
        if self.sweep(none).is_ok() {
            return Status::Converged;
        }
        match self.sweep(self.regularisation.weights()) {
            Ok(()) => Status::Converged,
            Err(stage) => Status::Stalled(Stall::NotConvex { stage }),
        }
    }

    fn expand(&mut self) -> Result<(), usize> {
        let stages = self.limits.len();
        self.problem.expand_all(
            &self.now.states[..stages],
            &self.now.controls,
            &self.costates,
            &mut self.expansions,
        )?;
        if let Some(stage) = self.expansions.iter().position(|e| !e.is_finite()) {
            return Err(stage);
        }
        self.last = self.problem.expand_final(&self.now.states[stages]).ok_or(stages)?;
        let entries = self.last.cost_x.iter().chain(self.last.cost_xx.as_flattened());
        if entries.into_iter().any(|v| !v.is_finite()) {
            return Err(stages);
        }
        for ((room, limits), u) in self.rooms.iter_mut().zip(&self.limits).zip(&self.now.controls) {
            *room = Limits { lower: difference(&limits.lower, u), upper: difference(&limits.upper, u) };
        }
        Ok(())
    }

    fn sweep(&mut self, weights: Weights) -> Result<(), usize> {
        sweep(
            &self.expansions,
            &self.last,
            &self.now.gaps,
            &self.rooms,
            weights,
            &mut self.laws,
            &mut self.costates,
        )
    }

    /// Tries shorter and shorter steps. The merit of a step `a` is its cost less
    /// `a` times the price of the gaps, the share of them that it closes. The price is
    /// what closing them is expected to cost, with a margin; cuts by the limits must not
    /// raise it, or a step that the limits spoil would be paid for by the gaps.
    fn search(&mut self, slope: f64, uncut: Forecast, gaps_open: bool) -> Search {
        const SUFFICIENT: f64 = 1e-4; // Armijo's share, the usual value
        // no step is tried that is longer than the last one by more; with gaps long steps mostly fail
        const LONGER: f64 = 4.0;
        const LONGER_WITH_GAPS: f64 = 2.0;
        const GAP_SHARE: f64 = 0.5; // at least half the price must remain as gain
        if gaps_open {
            let rise = slope.max(uncut.slope + 0.5 * uncut.curvature.max(0.0));
            self.gap_price = self.gap_price.max(rise / (1.0 - GAP_SHARE));
        } else {
            self.gap_price = 0.0;
        }
        let slope = slope - self.gap_price;
        let mut left_domain_at = None;
        if slope >= 0.0 {
            return Search::Failed { left_domain_at };
        }
        let longer = if gaps_open { LONGER_WITH_GAPS } else { LONGER };
        let mut share = (longer * self.share).min(1.0);
        // no step is shorter than a whole one halved as often as that: a crawl over gaps is no descent
        let least = if gaps_open { 0.5_f64.powi(self.settings.halvings as i32) } else { 0.0 };
        for _ in 0..=self.settings.halvings {
            if share < least {
                break;
            }
            match self.tried.step_from(self.problem, &self.now, &self.laws, &self.limits, share) {
                Ok(()) => {
                    let gain = self.now.cost - self.tried.cost + share * self.gap_price;
                    if gain >= -SUFFICIENT * share * slope {
                        std::mem::swap(&mut self.now, &mut self.tried);
                        self.gap_price *= 1.0 - share;
                        self.share = share;
                        return Search::Took(share);
                    }
                }
                Err(stage) => left_domain_at = Some(stage),
            }
            share *= 0.5;
        }
        if gaps_open {
            self.gap_price *= 4.0; // a dearer gap allows a dearer step
        }
        Search::Failed { left_domain_at }
    }
}
