//! What a key of a set-up allows, the contact of its runners can be solved for.
#![allow(clippy::unwrap_used, reason = "a test may")]

use ice_contact::runner::faults;
use sled_dynamics::laws::on_runners::ice_state;
use sled_dynamics::setup::Setup;
use sled_dynamics::setup::faults::Problem;
use sled_dynamics::setup::file::read_setup;
use sled_dynamics::setup::keys::keys;

#[test]
fn exact_limits_of_keys_and_of_the_contact_agree() {
    let told = |setup: &Setup| {
        let sides = setup.runners.pair().into_iter().zip([setup.runners.left, setup.runners.right]);
        sides.flat_map(|(r, bow)| faults(&r, bow, &ice_state(&setup.ice))).collect::<Vec<_>>()
    };
    let read = |key: &str, value: f64| read_setup("a.toml", "", &[(key.to_string(), value.to_string())]);
    let mut taken = 0;
    for key in keys().iter().filter(|k| k.path.starts_with("runners.") || k.path.starts_with("ice.")) {
        let Some(number) = key.number().filter(|_| !key.path.contains("friction")) else { continue };
        for value in [number.least, number.most] {
            match read(key.path, value) {
                Ok(setup) => {
                    taken += 1;
                    assert!(told(&setup).is_empty(), "{} = {value}: {:?}", key.path, told(&setup));
                }
                // two keys that do not fit, with the limit: never a value that one key alone allows
                Err(why) => {
                    assert!(why.0.iter().all(|f| matches!(f.problem, Problem::DoNotFit { .. })), "{why}")
                }
            }
        }
    }
    assert!(taken > 20, "{taken}");
    // what fits to the last millimetre, and one beyond
    let ends = [("screw_mm", 340.0, 341.0), ("tip_mm", 660.0, 661.0), ("groove_start_mm", -420.0, -421.0)];
    for (key, fits, not) in ends {
        let key = format!("runners.{key}");
        assert!(told(&read(&key, fits).unwrap()).is_empty(), "{key}");
        let said = read(&key, not).unwrap_err().to_string();
        assert!(
            said.starts_with(&format!("--set {key}={not} ({key}): got {not} mm; allowed: at ")),
            "{said}"
        );
    }
}
