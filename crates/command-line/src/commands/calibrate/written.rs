//! What a calibration leaves: `calibration.toml` and the samples that `compare --unknowns` reads.

use super::Found;
use super::fitted::{Layout, Parameter};
use crate::files::Output;
use evidence::calibration::worth::samples;
use sled_dynamics::setup::write::write_setup;
use std::fmt::Write;
use sweep_runner::plausible::keyed::keyed_table;

/// Samples of the posterior.
pub const SAMPLES: usize = 32;
/// Seed of the samples.
pub const SEED: u64 = 1;

fn quoted(text: &str) -> String {
    // a string of JSON is one of TOML
    serde_json::Value::from(text).to_string()
}

/// Both files.
pub fn outputs(found: &Found<'_>, layout: &Layout) -> Result<Vec<Output>, String> {
    let samples = posterior_samples(found, layout)?;
    let keys: Vec<&str> = layout.parameters.iter().map(|p| p.key()).collect();
    let csv = keyed_table(&keys, SEED, &samples);
    Ok(vec![Output::new("calibration.toml", toml(found)), Output::new("calibration.csv", csv)])
}

/// Samples of the fitted parameters, inside the limits of their keys, to six digits.
fn posterior_samples(found: &Found<'_>, layout: &Layout) -> Result<Vec<Vec<f64>>, String> {
    let n = layout.parameters.len();
    let mean: Vec<f64> = found.fit.estimates.iter().take(n).copied().collect();
    let covariance = found.fit.covariance.view((0, 0), (n, n)).clone_owned();
    let drawn = samples(&mean, &covariance, SAMPLES, SEED).ok_or("the posterior has no samples")?;
    let limits = |p: &Parameter| {
        let key = sled_dynamics::setup::keys::find(p.key()).ok()?;
        key.number().map(|n| (n.least, n.most))
    };
    let cell = |p: &Parameter, v: f64| {
        let (least, most) = limits(p).unwrap_or((f64::MIN, f64::MAX));
        format!("{v:.5e}").parse::<f64>().unwrap_or(v).clamp(least, most)
    };
    let row = |values: &Vec<f64>| layout.parameters.iter().zip(values).map(|(p, v)| cell(p, *v)).collect();
    Ok(drawn.iter().map(row).collect())
}

fn toml(found: &Found<'_>) -> String {
    let mut text =
        String::from("# what runs say of a model: estimates, what was believed before, covariance, inputs\n");
    let list = |names: Vec<String>| format!("[{}]", names.join(", "));
    // writing to a String cannot fail
    let _ = write!(
        text,
        "sheet = {}\nsheet_sha256 = {}\ntrack = {}\ntrack_sha256 = {}\nsetup = {}\nsetup_sha256 = {}\nset = {}\n",
        quoted(&found.sheet),
        quoted(&found.sha256[0]),
        quoted(&found.course.track.data.name),
        quoted(&found.sha256[1]),
        quoted(&found.course.setup.name),
        quoted(&found.sha256[2]),
        list(found.sets.iter().map(|s| quoted(s)).collect()),
    );
    let fit = &found.fit;
    let _ = write!(
        text,
        "runs = {}\nspread_s = {}\nlast_digit_s = {}\nvalues = {}\nchi_square = {}\nprior_chi_square = {}\n\
         chance_of_worse = {}\ncondition = {}\nsamples = {SAMPLES}\nseed = {SEED}\n",
        list(found.course.runs.iter().map(|r| quoted(&r.measured.name)).collect()),
        found.spread_s,
        found.last_digit_s,
        fit.values,
        fit.chi_square,
        fit.prior_chi_square,
        found.verdict.chance.map_or("nan".into(), |c| c.to_string()),
        fit.condition,
    );
    if let Some((name, losses)) = found.level.zip(found.course.losses) {
        let _ = write!(
            text,
            "\n# line losses are beyond what rides of this level lose\nskill = {}\nskill_rides = {}\nskill_finished = {}\nlevel_loss = {}\n",
            quoted(name),
            losses.rides,
            losses.finished,
            losses.share()
        );
    }
    if let Some(errors) = found.errors {
        let _ = write!(
            text,
            "# errors of the athlete over those of the level: logarithm and its standard deviation\nerror_factor_log = {}\nerror_factor_log_sd = {}\n",
            errors.log_mean, errors.log_sd
        );
    }
    text +=
        &format!("\n# the set-up as it was ridden, keys of the command line among it\nsetup_text = {}\n", {
            let setup = write_setup(found.course.setup);
            if setup.contains("'''") { quoted(&setup) } else { format!("'''\n{}'''", setup) }
        });
    text += "\n# in the order of the unknowns below\ncovariance = [\n";
    for row in fit.covariance.row_iter() {
        let _ = writeln!(text, "  {},", list(row.iter().map(|v| format!("{v:e}")).collect()));
    }
    text += "]\n";
    for (j, unknown) in found.unknowns.iter().enumerate() {
        let _ = write!(text, "\n[[unknown]]\nname = {}\n", quoted(&unknown.name));
        if let Some(p) = found.layout.parameters.get(j) {
            let _ = writeln!(text, "key = {}", quoted(p.key()));
        }
        let _ = writeln!(text, "estimate = {}\nerror = {}", fit.estimates[j], fit.error(j));
        if let Some(p) = unknown.prior {
            let _ = writeln!(text, "prior_mean = {}\nprior_sd = {}", p.mean, p.sd);
        }
        let _ = writeln!(text, "prior_source = {}", quoted(&unknown.source));
    }
    text
}
