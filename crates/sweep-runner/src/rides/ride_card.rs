//! A planned ride in words, corner by corner: where to enter, where to press and how hard, where to let go.

use sled_dynamics::analysis::sections::sections;
use sled_dynamics::riding::planned_ride::Plan;
use track_geometry::track::{Hand, Track};

/// Steering weaker than this is none `[-]`, assumed.
pub const PRESSED: f64 = 0.1;
/// Steering from here on is half, assumed.
const HALF: f64 = 0.35;
/// Steering from here on is full, assumed.
const FULL: f64 = 0.7;
/// Presses to the same side that are closer than this are one (m), assumed.
const APART_M: f64 = 3.0;

/// Presses shorter than this are not told (m), assumed.
const LEAST_M: f64 = 3.0;

/// Steering to one side from one station to another.
#[derive(Clone, Debug, PartialEq)]
pub struct Press {
    /// Where it begins (m).
    pub from_m: f64,
    /// Where it ends (m).
    pub to_m: f64,
    /// Steering where it is strongest, positive to the right `[-]`.
    pub strongest: f64,
    /// Where it is strongest (m).
    pub(crate) strongest_m: f64,
}

impl Press {
    /// Which shoulder and knee, and how hard.
    pub(crate) fn words(&self) -> String {
        let limbs = if self.strongest > 0.0 {
            "left shoulder and right knee"
        } else {
            "right shoulder and left knee"
        };
        let hard = match self.strongest.abs() {
            s if s < HALF => "light",
            s if s < FULL => "half",
            _ => "full",
        };
        let Press { from_m, to_m, strongest, strongest_m } = self;
        let most = strongest.abs();
        format!("{from_m:.0} to {to_m:.0} m: {limbs}, {hard} ({most:.2} at {strongest_m:.0} m)")
    }
}

/// Where the sled is at a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    /// Station (m).
    pub station_m: f64,
    /// Offset from the reference line, positive to the left (m).
    pub(crate) offset_m: f64,
    /// Height above the lowest ice of the cross-section (m).
    pub(crate) height_m: f64,
}

impl Place {
    /// In words.
    pub(crate) fn words(&self) -> String {
        let offset = match self.offset_m {
            u if u.abs() < 0.005 => "in the middle".to_string(),
            u => format!("{:.2} m {} of the middle", u.abs(), if u > 0.0 { "left" } else { "right" }),
        };
        format!("{offset}, {:.2} m high, station {:.0} m", self.height_m.max(0.0), self.station_m)
    }
}

/// What to do in one section of the way.
#[derive(Clone, Debug, PartialEq)]
pub struct SectionCard {
    /// Name of the section: "start", that of a corner, or "finish".
    pub name: String,
    /// The corner: which way it turns, where it is entered, ridden highest, and left.
    pub(crate) corner: Option<(Hand, [Place; 3])>,
    /// Where to press, cut at the ends of the section; sections share the straights between corners by halves.
    pub(crate) presses: Vec<Press>,
    /// The last press goes on in the next section.
    pub(crate) held: bool,
}

/// Where steering is pressed between two stations (m).
pub(crate) fn presses(plan: &Plan, from_m: f64, to_m: f64) -> Vec<Press> {
    let mut all: Vec<Press> = Vec::new();
    let inside = |at: &(&f64, _)| (from_m..to_m).contains(at.0);
    for (&station_m, state) in plan.station_m.iter().zip(&plan.states).filter(inside) {
        let steer = state[5];
        if steer.abs() < PRESSED {
            continue;
        }
        match all.last_mut() {
            Some(p) if p.strongest * steer > 0.0 && station_m - p.to_m <= APART_M => {
                p.to_m = station_m;
                if steer.abs() > p.strongest.abs() {
                    (p.strongest, p.strongest_m) = (steer, station_m);
                }
            }
            _ => all.push(Press {
                from_m: station_m,
                to_m: station_m,
                strongest: steer,
                strongest_m: station_m,
            }),
        }
    }
    // what is cut off by the end of a section, or over at once, is nothing to be told
    all.retain(|p| p.to_m - p.from_m >= LEAST_M);
    all
}

/// Where the plan has the sled at a station; the ends are held.
fn place(track: &Track, plan: &Plan, station_m: f64) -> Place {
    let after = plan.station_m.partition_point(|s| *s <= station_m).clamp(1, plan.station_m.len() - 1);
    let (a, b) = (plan.station_m[after - 1], plan.station_m[after]);
    let t = ((station_m - a) / (b - a)).clamp(0.0, 1.0);
    let offset_m = plan.states[after - 1][0] * (1.0 - t) + plan.states[after][0] * t;
    Place { station_m, offset_m, height_m: track.surface.station(station_m).height_m(offset_m) }
}

/// The card of a plan, section by section; empty for a plan of fewer than two nodes.
pub fn ride_card(track: &Track, plan: &Plan) -> Vec<SectionCard> {
    if plan.station_m.len() < 2 || plan.states.len() != plan.station_m.len() {
        return vec![];
    }
    let of_corner = |i: usize| {
        let corner = &track.data.corners[i];
        let [enter, exit] = [corner.entry_m, corner.exit_m].map(|s| place(track, plan, s));
        let inside = plan.station_m.iter().filter(|s| corner.entry_m <= **s && **s <= corner.exit_m);
        let highest = inside.map(|s| place(track, plan, *s)).max_by(|a, b| a.height_m.total_cmp(&b.height_m));
        (corner.hand, [enter, highest.unwrap_or(enter), exit])
    };
    let mut cards: Vec<SectionCard> = sections(track)
        .into_iter()
        .map(|section| SectionCard {
            corner: section.corner.map(of_corner),
            presses: presses(plan, section.from_m, section.to_m),
            name: section.name,
            held: false,
        })
        .collect();
    for i in 1..cards.len() {
        let (before, after) = (cards[i - 1].presses.last(), cards[i].presses.first());
        cards[i - 1].held = before
            .zip(after)
            .is_some_and(|(a, b)| a.strongest * b.strongest > 0.0 && b.from_m - a.to_m <= APART_M);
    }
    cards
}

/// The card as text; sections without a corner are told where something is pressed.
pub fn card_text(cards: &[SectionCard]) -> String {
    let mut text = String::new();
    for card in cards.iter().filter(|c| c.corner.is_some() || !c.presses.is_empty()) {
        match &card.corner {
            Some((hand, [enter, _, _])) => {
                let hand = if *hand == Hand::Left { "left" } else { "right" };
                text += &format!("corner {}, {hand}\n  enter    {}\n", card.name, enter.words());
            }
            None => text += &format!("{}\n", card.name),
        }
        for press in &card.presses {
            text += &format!("  press    {}\n", press.words());
        }
        if card.presses.is_empty() {
            text += "  press    nothing\n";
        }
        if let Some((_, [_, highest, exit])) = &card.corner {
            let released = match card.presses.last() {
                Some(_) if card.held => "press goes on; ".to_string(),
                Some(p) => format!("{:.0} m; ", p.to_m),
                None => String::new(),
            };
            text += &format!("  highest  {}\n  release  {released}exit {}\n", highest.words(), exit.words());
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rides::planner::PlanStatus;
    use track_geometry::track_file::read_track;

    fn track() -> Track {
        let (toml, csv) = (
            include_str!("../../../../tracks/quillmere/track.toml"),
            include_str!("../../../../tracks/quillmere/stations.csv"),
        );
        Track::new(read_track("t", toml, "s", csv).unwrap().track).unwrap()
    }

    /// A plan with a node a metre from 20 m on, half a metre right of the middle, and this steering.
    fn plan(steer: impl Fn(f64) -> f64) -> Plan {
        let station_m: Vec<f64> = (20..1217).map(f64::from).collect();
        let states: Vec<_> = station_m.iter().map(|s| [-0.5, 0.0, 20.0, 0.0, 0.0, steer(*s), 0.0]).collect();
        let steps = station_m.len() - 1;
        Plan { controls: vec![[0.0; 3]; steps], gains: vec![[0.0; 7]; steps], station_m, states }
    }

    #[test]
    fn exact_presses_are_joined_over_short_gaps_and_parted_by_side() {
        let steer = |s: f64| match s {
            100.0..=110.0 => 0.2,
            113.0..=115.0 => 0.5,
            116.0..=120.0 => -0.8,
            130.0..=134.0 => -0.12,
            150.0..=151.0 => 0.9,
            _ => 0.05,
        };
        let told: Vec<String> = presses(&plan(steer), 0.0, 1e4).iter().map(Press::words).collect();
        let wanted = [
            "100 to 115 m: left shoulder and right knee, half (0.50 at 113 m)",
            "116 to 120 m: right shoulder and left knee, full (0.80 at 116 m)",
            "130 to 134 m: right shoulder and left knee, light (0.12 at 130 m)",
        ];
        assert_eq!(told, wanted);
        // cut at the ends
        let cut = presses(&plan(steer), 104.0, 114.0);
        assert_eq!((cut.len(), cut[0].from_m, cut[0].to_m), (1, 104.0, 113.0));
    }

    #[test]
    fn exact_every_corner_has_its_place_and_a_long_press_is_told_in_each() {
        let track = track();
        // pressed from 500 m on
        let plan = plan(|s| if s >= 500.0 { 0.3 } else { 0.0 });
        let cards = ride_card(&track, &plan);
        assert_eq!(cards.iter().filter(|c| c.corner.is_some()).count(), track.data.corners.len());
        for (card, section) in cards.iter().zip(sections(&track)) {
            assert_eq!(card.presses.len(), usize::from(section.to_m > 510.0), "{}", card.name);
            assert_eq!(card.held, section.to_m > 510.0 && section.name != "finish", "{}", card.name);
        }
        let corner = cards.iter().find_map(|c| c.corner).unwrap();
        let enter = corner.1[0];
        assert_eq!((enter.offset_m, enter.station_m), (-0.5, track.data.corners[0].entry_m));
        let text = card_text(&cards);
        assert!(text.contains("0.50 m right of the middle") && text.contains("press    nothing"), "{text}");
        assert!(ride_card(&track, &Plan { station_m: vec![], states: vec![], ..plan }).is_empty());
    }

    #[test]
    fn exact_why_not_tells_the_part_of_the_corner() {
        let track = track();
        let corner = &track.data.corners[8];
        let told =
            |station_m: f64| PlanStatus::NeedsHelp { station_m, lacks_m_s2: 0.417 }.why_not(&track).unwrap();
        let said = told(corner.exit_m - 1.0);
        assert!(said.starts_with(&format!("exit of corner {} (", corner.name)), "{said}");
        assert!(said.ends_with("needs 0.417 m/s2 more than this sled can turn"), "{said}");
        assert!(told(corner.entry_m + 1.0).starts_with("entry of"));
        assert!(told(1.0).starts_with("station 1 m needs"));
        assert!(PlanStatus::Found.why_not(&track).is_none());
    }
}
