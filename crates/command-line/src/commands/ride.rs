//! `sagitta ride`: a planned ride in words, as a table and as a picture.

use super::{Done, What, plan};
use crate::files::{self, Output};
use crate::number::within;
use crate::plan_store::setup_numbers_sha256;
use crate::words::{ABSOLUTE, CAUTION, say};
use pictures::ride_plan::ride_plan;
use sled_dynamics::riding::ride_file::{RideFor, write_ride};
use std::path::PathBuf;
use sweep_runner::rides::planner::NO_HELP_M_S2;
use sweep_runner::rides::prepared::Ready;
use sweep_runner::rides::ride_card::{PRESSED, card_text, ride_card};

/// Longest reaction lag that is planned for (s).
const MOST_LAG_S: f64 = 1.0;

/// Commands about rides.
#[derive(clap::Subcommand)]
pub enum RideCommand {
    /// Plan the fastest ride that keeps off the walls, and print it corner by corner
    Plan(PlanOptions),
}

/// Options of `ride plan`.
#[derive(clap::Args)]
pub struct PlanOptions {
    #[command(flatten)]
    what: What,
    /// Reaction lag of the athlete [default: that of the set-up]
    #[arg(long, value_name = "SECONDS", allow_hyphen_values = true, value_parser = within(0.0, MOST_LAG_S, "s"))]
    lag: Option<f64>,
    /// Write ride.csv, ride-card.txt and the picture into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Runs a command about rides.
pub fn ride(command: &RideCommand) -> Done {
    match command {
        RideCommand::Plan(options) => plan_ride(options),
    }
}

fn plan_ride(o: &PlanOptions) -> Done {
    let (read, of) = o.what.read()?;
    let (track, setup) = (&read.track, &of.setup);
    let lag_s = o.lag.unwrap_or(setup.pilot.lag_s);
    let ready = Ready::new(track, setup).map_err(|e| e.to_string())?;
    let planned = plan(&read, &ready, lag_s, &o.what.store())?;
    let head = format!("{} on {}\nplanned ride, reaction lag {lag_s} s\n\n", setup.name, track.data.name);
    let left = format!("help left: {:.5} m/s2", planned.help_m_s2);
    if let Some(why) = planned.status.why_not(track) {
        // a finding, not an error
        say(&format!("{head}no ride without help was found: {why}\n{left}\n\n{CAUTION}\n"))?;
        return Ok(1);
    }
    let launch = &ready.launch;
    let start_s = track.data.eyes.first().zip(launch.sprint.as_ref()).map(|(e, s)| s.time_at_s(e.station_m));
    let finish = planned.time_s.map_or("unknown".into(), |t| match start_s {
        Some(start_s) => format!("{:.3} s from the first eye to the last", t + launch.time_s - start_s),
        None => format!("{t:.3} s from the launch to the last eye"),
    });
    let card = format!(
        "{head}ride found, planned time {finish}\n{left}, below {NO_HELP_M_S2} counts as none\n\n{}\n\
         The middle is the reference line of the track. Steering is that of the shoulders and knees, from 0 to 1;\n\
         less than {PRESSED} is not told. The plan knows the ice exactly and makes no mistake.\n\n{ABSOLUTE}\n{CAUTION}\n",
        card_text(&ride_card(track, &planned.plan))
    );
    if let Some(out) = &o.out {
        let sum = setup_numbers_sha256(setup);
        let made_for = RideFor { track: &track.data.name, setup_sha256: &sum, finish_m: track.finish_m() };
        // the steering that comes out of shoulders and knees, the lag behind it
        let steering = planned.plan.station_m.iter().zip(&planned.plan.states);
        let rows: Vec<_> = steering.map(|(s, x)| (*s, x[5].clamp(-1.0, 1.0), 0.0, 0.0)).collect();
        let title = format!("Planned ride of {} on {}, lag {lag_s} s", setup.name, track.data.name);
        let picture = ride_plan(track, &planned.plan, &title, PRESSED).map_err(|e| e.to_string())?;
        let mut outputs = vec![
            Output::new("ride.csv", write_ride(&made_for, &rows)),
            Output::new("ride-card.txt", card.clone()),
        ];
        outputs.extend(Output::picture(&picture));
        files::write_all(out, &outputs)?;
    }
    say(&card)?;
    for d in &read.doubts {
        tell!("doubtful: {d}");
    }
    if let Some(out) = &o.out {
        tell!("written to {}", out.display());
    }
    Ok(0)
}
