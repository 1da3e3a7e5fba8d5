//! A plan that was found as bytes and back, exact to the last bit.
//!
//! ```text
//!   "SAGPLAN" 0x1a  form u32  nodes u64  sweeps u64  help f64  has time u8  time f64
//!   stations, states, controls, gains: f64                    FNV-1a of all before: u64
//! ```
//!
//! Everything is little-endian.

use crate::rides::planner::{PlanStatus, Planned};
use numerics::checksum::fnv1a;
use sled_dynamics::riding::plan_state::{CONTROLS, STATES};
use sled_dynamics::riding::planned_ride::Plan;

const MAGIC: &[u8; 8] = b"SAGPLAN\x1a";
/// Form of the bytes; another form is not read.
const FORM: u32 = 1;
const HEAD: usize = 8 + 4 + 8 + 8 + 8 + 1 + 8;
const CHECKSUM: usize = 8;

/// The bytes of a plan; `None` for one that was not found, or whose columns differ in length.
pub fn plan_bytes(planned: &Planned) -> Option<Vec<u8>> {
    let Plan { station_m, states, controls, gains } = &planned.plan;
    let steps = station_m.len().checked_sub(1)?;
    let whole = states.len() == steps + 1 && controls.len() == steps && gains.len() == steps;
    if planned.status != PlanStatus::Found || !whole {
        return None;
    }
    let mut bytes = Vec::with_capacity(length(steps + 1)?);
    bytes.extend(MAGIC);
    bytes.extend(FORM.to_le_bytes());
    bytes.extend((steps as u64 + 1).to_le_bytes());
    bytes.extend((planned.sweeps as u64).to_le_bytes());
    bytes.extend(planned.help_m_s2.to_le_bytes());
    bytes.push(u8::from(planned.time_s.is_some()));
    bytes.extend(planned.time_s.unwrap_or(0.0).to_le_bytes());
    let numbers = station_m.iter().chain(states.as_flattened());
    for number in numbers.chain(controls.as_flattened()).chain(gains.as_flattened()) {
        bytes.extend(number.to_le_bytes());
    }
    bytes.extend(fnv1a(&bytes).to_le_bytes());
    Some(bytes)
}

/// Length of the bytes of a plan of so many nodes.
fn length(nodes: usize) -> Option<usize> {
    let steps = nodes.checked_sub(1)?;
    let numbers = nodes.checked_mul(1 + STATES)?.checked_add(steps.checked_mul(CONTROLS + STATES)?)?;
    numbers.checked_mul(8)?.checked_add(HEAD + CHECKSUM)
}

/// Reads from the front of bytes.
struct Front<'a>(&'a [u8]);

impl Front<'_> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (first, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*first)
    }

    fn whole(&mut self) -> Option<usize> {
        usize::try_from(u64::from_le_bytes(self.take()?)).ok()
    }

    fn number(&mut self) -> Option<f64> {
        Some(f64::from_le_bytes(self.take()?))
    }

    fn rows<const N: usize>(&mut self, rows: usize) -> Option<Vec<[f64; N]>> {
        let mut all = vec![[0.0; N]; rows];
        for number in all.as_flattened_mut() {
            *number = self.number()?;
        }
        Some(all)
    }
}

/// The plan in bytes; `None` for anything that [`plan_bytes`] did not make.
pub fn read_plan(bytes: &[u8]) -> Option<Planned> {
    let (body, sum) = bytes.split_last_chunk::<CHECKSUM>()?;
    if fnv1a(body) != u64::from_le_bytes(*sum) {
        return None;
    }
    let mut front = Front(body);
    if front.take()? != *MAGIC || u32::from_le_bytes(front.take()?) != FORM {
        return None;
    }
    let nodes = front.whole()?;
    // before any room is made for the numbers
    if length(nodes)? != bytes.len() {
        return None;
    }
    let sweeps = front.whole()?;
    let help_m_s2 = front.number()?;
    let [has_time] = front.take()?;
    let time_s = front.number()?;
    let stations: Vec<[f64; 1]> = front.rows(nodes)?;
    Some(Planned {
        status: PlanStatus::Found,
        help_m_s2,
        time_s: (has_time == 1).then_some(time_s),
        sweeps,
        plan: Plan {
            station_m: stations.into_iter().map(|[s]| s).collect(),
            states: front.rows(nodes)?,
            controls: front.rows(nodes - 1)?,
            gains: front.rows(nodes - 1)?,
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(time_s: Option<f64>) -> Planned {
        // numbers whose last bits would not survive text or single precision, and the odd ones out
        let odd = [1.0 / 3.0, -0.0, 5e-324, f64::MAX, std::f64::consts::PI];
        let number = |i: usize| odd[i % 5] * if i.is_multiple_of(7) { -1.0 } else { 1.0 };
        let states = (0..4).map(|k| std::array::from_fn(|i| number(3 * k + i))).collect();
        let controls = (0..3).map(|k| std::array::from_fn(|i| number(k + i))).collect();
        let gains = (0..3).map(|k| std::array::from_fn(|i| number(5 * k + i + 1))).collect();
        let station_m = vec![15.2, 16.0, 17.0, 1.0 / 3.0];
        Planned {
            plan: Plan { station_m, states, controls, gains },
            status: PlanStatus::Found,
            help_m_s2: 1.7e-4,
            time_s,
            sweeps: 41,
        }
    }

    fn bits(p: &Planned) -> Vec<u64> {
        let Plan { station_m, states, controls, gains } = &p.plan;
        let head = [p.help_m_s2, p.time_s.unwrap_or(f64::NAN), p.sweeps as f64];
        let all = head.iter().chain(station_m).chain(states.as_flattened());
        all.chain(controls.as_flattened()).chain(gains.as_flattened()).map(|x| x.to_bits()).collect()
    }

    #[test]
    fn exact_round_trip_to_the_last_bit() {
        for time_s in [Some(52.123_456_789), None] {
            let planned = made(time_s);
            let back = read_plan(&plan_bytes(&planned).unwrap()).unwrap();
            assert_eq!(bits(&planned), bits(&back));
            assert_eq!((back.status, back.time_s), (PlanStatus::Found, time_s));
        }
    }

    #[test]
    fn exact_every_damaged_byte_and_every_cut_is_refused() {
        let whole = plan_bytes(&made(Some(52.0))).unwrap();
        for i in 0..whole.len() {
            for flip in [1_u8, 0x80, 0xff] {
                let mut damaged = whole.clone();
                damaged[i] ^= flip;
                assert!(read_plan(&damaged).is_none(), "byte {i}");
            }
            assert!(read_plan(&whole[..i]).is_none(), "cut at {i}");
        }
        assert!(read_plan(&[whole.clone(), vec![0]].concat()).is_none());
    }

    #[test]
    fn exact_wrong_heads_with_a_right_checksum_are_refused() {
        let whole = plan_bytes(&made(Some(52.0))).unwrap();
        let (body, _) = whole.split_last_chunk::<CHECKSUM>().unwrap();
        // magic, form, and a number of nodes that would fill any memory
        for (at, bytes) in [(0, vec![b'X']), (8, vec![2]), (12, vec![0xff; 8]), (12, vec![0; 8])] {
            let mut other = body.to_vec();
            other[at..at + bytes.len()].copy_from_slice(&bytes);
            other.extend(fnv1a(&other).to_le_bytes());
            assert!(read_plan(&other).is_none(), "byte {at}");
        }
    }

    #[test]
    fn exact_only_plans_that_were_found_have_bytes() {
        let mut planned = made(Some(52.0));
        planned.status = PlanStatus::NeedsHelp { station_m: 700.0, lacks_m_s2: 0.4 };
        assert!(plan_bytes(&planned).is_none());
        let mut planned = made(Some(52.0));
        planned.plan.gains.pop();
        assert!(plan_bytes(&planned).is_none());
    }
}
