//! `sagitta weather`: what ice and air do to the time of a planned ride, and what start numbers cost.

use super::{Done, What, planned_at};
use crate::files::{self, Output};
use crate::number::within;
use crate::words::{ABSOLUTE, CAUTION, numbers, say};
use pictures::curve_with_band::{BandGroup, BandWords, curve_with_band};
use std::path::PathBuf;
use sweep_runner::rides::weather::{AIR, Changed, Weather, weather};

/// Options of `weather`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// Ice temperatures to ride on
    #[arg(long, value_name = "DEGC,...", value_delimiter = ',', allow_hyphen_values = true, value_parser = within(-40.0, 0.0, "degC"), default_value = "-12,-10,-8,-6,-5,-4,-3,-2,-1")]
    ice_temperatures: Vec<f64>,
    /// How much warmer the ice is from one start number to the next, as you expect it (K; colder is negative)
    #[arg(long, value_name = "K", allow_hyphen_values = true, value_parser = within(-1.0, 1.0, "K"))]
    warming: Option<f64>,
    /// Write the table and the picture into this folder
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

/// Start numbers that the drift is printed for.
const STARTS: [u32; 4] = [5, 10, 20, 30];

/// Rides, prints and draws.
pub fn weather_command(o: &Options) -> Done {
    let (track, read) = o.what.read()?;
    let setup = read.setup;
    if setup.ice.hardness_pa.is_some() {
        return Err(
            "the set-up states ice.hardness_mpa, which then depends on no temperature; take it out".into()
        );
    }
    let prepared = planned_at(&track, &setup, setup.pilot.lag_s, &o.what.store())?;
    tell!("riding on ice of {} temperatures ...", o.ice_temperatures.len());
    let found = weather(&prepared, &o.ice_temperatures).map_err(|e| e.to_string())?;
    let now_c = setup.ice.temperature_c;
    let mut text = format!(
        "{} on {}: the planned ride on other ice and in other air, the push as it is\n\n",
        setup.name, track.track.data.name
    );
    text += &report(&found, now_c, o.warming);
    text += &format!("\n{ABSOLUTE}\n{CAUTION}\n");
    if let Some(out) = &o.out {
        let title =
            format!("{} on {}: time by the temperature of the ice", setup.name, track.track.data.name);
        files::write_all(out, &outputs(&title, &found)?)?;
        tell!("written to {}", out.display());
    }
    say(&text)?;
    Ok(u8::from(found.ice.iter().any(|c| c.less_base_s.is_none())))
}

fn ms(c: &Changed) -> String {
    c.less_base_s.map_or("lost".into(), |s| format!("{:+.0}", 1e3 * s))
}

fn report(w: &Weather, now_c: f64, warming_k: Option<f64>) -> String {
    let ice = w.ice.iter().map(|c| {
        let slope = w.per_kelvin_s(c.value).map_or("-".into(), |s| format!("{:+.0}", 1e3 * s));
        let time = c.less_base_s.map_or("lost".into(), |s| format!("{:.3}", w.base_s[0] + s));
        vec![format!("{}", c.value), time, ms(c), slope]
    });
    let mut text = format!(
        "as the set-up says, ice {now_c} degC: {:.3} s, numerical error {:.2} ms\n\n{}\n\n",
        w.base_s[0],
        1e3 * w.base_s[1],
        numbers(&["ice degC", "time s", "less as it is ms", "ms for 1 K warmer"], ice)
    );
    let air = w.air.iter().zip(AIR).map(|(steps, (key, _, step))| {
        let cell = |c: &Option<Changed>| c.as_ref().map_or("not allowed".into(), ms);
        vec![step.to_string(), cell(&steps[0]), cell(&steps[1]), key.to_string()]
    });
    text += &format!("{}\n\n", numbers(&["air", "ms", "as much less, ms", "key"], air));
    text += "+ slower, - faster; the plan stays, so a change that asks for another line shows too slow\n\
             frost, melt water and wear of the ice are not known to the model\n";
    match (warming_k, w.per_kelvin_s(now_c)) {
        (None, _) => {
            text += "start numbers: state --warming, how much warmer the ice is from one to the next\n"
        }
        (Some(_), None) => {
            text += "start numbers: no temperatures were ridden on either side of the set-up's ice\n";
        }
        (Some(k), Some(slope)) => {
            let each = STARTS.map(|n| format!("{n}: {:+.0} ms", 1e3 * slope * k * f64::from(n - 1)));
            text += &format!(
                "start numbers against the first, ice {k:+} K from one to the next (as you state it): {}\n",
                each.join(", ")
            );
        }
    }
    text
}

fn outputs(title: &str, w: &Weather) -> Result<Vec<Output>, String> {
    let mut rows: Vec<(f64, f64)> =
        w.ice.iter().filter_map(|c| Some((c.value, w.base_s[0] + c.less_base_s?))).collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let time: Vec<f64> = rows.iter().map(|r| r.1).collect();
    let group = BandGroup {
        label: "planned ride".into(),
        parameter: rows.iter().map(|r| r.0).collect(),
        mean: time.clone(),
        low: time.clone(),
        high: time,
        ..BandGroup::default()
    };
    let words = BandWords {
        name: "ice_temperature",
        title,
        parameter: "temperature of the ice (degC)",
        quantity: "time (s)",
        band: "numerical error, thinner than the line",
    };
    let picture = curve_with_band(&words, &[group]).map_err(|e| e.to_string())?;
    let mut csv = String::from("key,value,less_base_s,numerical_error_s\n");
    for c in w.ice.iter().chain(w.air.iter().flatten().flatten()) {
        let less = c.less_base_s.map_or(String::new(), |s| s.to_string());
        csv += &format!("{},{},{less},{}\n", c.key, c.value, c.error_s);
    }
    let mut all = Vec::from(Output::picture(&picture));
    all.push(Output::new("weather.csv", csv));
    Ok(all)
}
