//! `sagitta page`: the sled bench in a browser on this machine.

use super::{Done, What};
use crate::files;
use crate::number::within;
use crate::words::{ABSOLUTE, CAUTION, say};
use page::asked::AskedFile;
use page::{Desk, Door, Given, serve};
use sweep_runner::rides::prepared::Ready;

/// Options of `page`.
#[derive(clap::Args)]
pub struct Options {
    #[command(flatten)]
    what: What,
    /// Port on this machine; 0 takes one that is free
    #[arg(long, default_value_t = 8017, allow_hyphen_values = true, value_parser = within(0_u16, u16::MAX, ""))]
    port: u16,
}

/// Serves until it is interrupted.
pub fn page_command(o: &Options) -> Done {
    let (track, _) = o.what.read()?;
    let (name, text) = o.what.setup_text()?;
    let sets = o.what.sets.iter().map(|s| files::key_value(s)).collect::<Result<Vec<_>, _>>()?;
    for d in &track.doubts {
        eprintln!("doubtful: {d}");
    }
    let (store, track_sha256) = (o.what.store(), track.sha256);
    let plan = move |ready: &Ready<'_>, lag_s: f64| {
        let make = || ready.plan(lag_s, None).map_err(|e| e.to_string());
        store.plan(&track_sha256, ready.setup, lag_s, make)
    };
    let desk = Desk::new(Given {
        track: track.track,
        setup: AskedFile { name, text },
        sets,
        plan: Box::new(plan),
        cautions: vec![CAUTION.into(), ABSOLUTE.into()],
        version: env!("SAGITTA_VERSION").into(),
    });
    let door = Door::open(o.port)?;
    say(&format!("http://{}/\n", door.address))?;
    eprintln!("open this address in a browser on this machine; Ctrl-C ends the page");
    serve(door, &desk)?;
    Ok(0)
}
