//! Where the caliper sits: sled on its back, guide, runner, pins and screws; what the key turns and what is read.
//!
//! Lines and words alone, in black, as SVG text: it goes into a page that prints in black and white.

use std::fmt::Write;

/// What is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Caliper {
    /// Places along the runner (m, ahead of the middle positive) and how far it stands out there against the loose
    /// runner (m), from front to rear.
    pub shape: Vec<(f64, f64)>,
    /// Pins this far before and behind the middle (m).
    pub pin_m: f64,
    /// Screws likewise (m).
    pub screw_m: f64,
    /// Advance of the screws (m).
    pub advance_m: f64,
}

/// Width and height of the drawing.
const SIZE: (f64, f64) = (560.0, 206.0);
/// Places on it: the guide, the loose runner, and how high the greatest bow stands.
const GUIDE_Y: f64 = 142.0;
const LOOSE_Y: f64 = 84.0;
const BULGE: f64 = 30.0;

impl Caliper {
    fn x(&self, place_m: f64) -> f64 {
        // the front is on the left, with room for the tips
        let half = 1.12 * self.pin_m.max(1e-3);
        0.5 * SIZE.0 - 0.44 * SIZE.0 * place_m / half
    }

    fn greatest_m(&self) -> f64 {
        self.shape.iter().map(|s| s.1).fold(1e-6, f64::max)
    }

    fn y(&self, out_m: f64) -> f64 {
        LOOSE_Y - BULGE * out_m / self.greatest_m()
    }

    /// How far the runner stands out at a place, straight between the places given.
    fn out_m(&self, place_m: f64) -> f64 {
        let pair = self.shape.windows(2).find(|w| (w[1].0..=w[0].0).contains(&place_m));
        pair.map_or(0.0, |w| {
            let share = if w[0].0 > w[1].0 { (w[0].0 - place_m) / (w[0].0 - w[1].0) } else { 0.0 };
            w[0].1 + share * (w[1].1 - w[0].1)
        })
    }
}

/// The drawing as SVG.
pub fn caliper(c: &Caliper) -> String {
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" font-family=\"Liberation Sans, Arial, \
         sans-serif\" font-size=\"14\" fill=\"none\" stroke=\"#000\" stroke-width=\"1.2\">\n",
        SIZE.0, SIZE.1
    );
    let mut line = |x1: f64, y1: f64, x2: f64, y2: f64, more: &str| {
        let _ = writeln!(svg, "<line x1=\"{x1:.1}\" y1=\"{y1:.1}\" x2=\"{x2:.1}\" y2=\"{y2:.1}\"{more}/>");
    };
    let (left, right) = (c.x(1.1 * c.pin_m), c.x(-1.1 * c.pin_m));
    line(left, GUIDE_Y, right, GUIDE_Y, " stroke-width=\"4\"");
    line(left, LOOSE_Y, right, LOOSE_Y, " stroke-dasharray=\"5 4\"");
    let tick = |x: f64, from: f64, to: f64, line: &mut dyn FnMut(f64, f64, f64, f64, &str)| {
        line(x, from, x, to, "");
        let down = if to > from { -5.0 } else { 5.0 };
        line(x - 3.0, to + down, x, to, "");
        line(x + 3.0, to + down, x, to, "");
    };
    for sign in [1.0, -1.0] {
        // pins hold, screws push away from the guide
        let (pin, screw) = (c.x(sign * c.pin_m), c.x(sign * c.screw_m));
        line(pin, GUIDE_Y, pin, c.y(c.out_m(sign * c.pin_m)) + 3.0, " stroke-width=\"3\"");
        let top = c.y(c.out_m(sign * c.screw_m)) + 3.0;
        line(screw, GUIDE_Y, screw, top, " stroke-width=\"6\"");
    }
    let mut place = |x_m: f64| {
        let x = c.x(x_m) + 16.0;
        tick(x, GUIDE_Y - 30.0, c.y(c.out_m(x_m)) + 3.0, &mut line);
        tick(x, GUIDE_Y - 44.0, GUIDE_Y - 2.0, &mut line);
    };
    for x_m in [c.pin_m, c.screw_m, 0.0, -c.screw_m, -c.pin_m] {
        place(x_m);
    }
    let points: Vec<String> =
        c.shape.iter().map(|(x, out)| format!("{:.1},{:.1}", c.x(*x), c.y(*out))).collect();
    let _ = writeln!(svg, "<polyline points=\"{}\" stroke-width=\"3.5\"/>", points.join(" "));
    let mut say = |x: f64, y: f64, anchor: &str, text: &str| {
        let _ = writeln!(
            svg,
            "<text x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"{anchor}\" fill=\"#000\" stroke=\"none\">{text}</text>"
        );
    };
    say(left, 16.0, "start", "front; the sled lies on its back");
    say(right, 16.0, "end", "drawn far too large");
    let mm = |m: f64| format!("{:.2} mm", 1e3 * m);
    let (advance, there, middle) = (c.advance_m, c.out_m(c.screw_m), c.out_m(0.0));
    say(
        0.5 * SIZE.0,
        36.0,
        "middle",
        &format!("screws advanced by {} each: what the key turns", mm(advance)),
    );
    say(c.x(0.5 * c.screw_m), LOOSE_Y + 15.0, "middle", "loose runner");
    for (x_m, name) in [
        (c.pin_m, "front pin"),
        (c.screw_m, "front screw"),
        (0.0, "middle"),
        (-c.screw_m, "rear screw"),
        (-c.pin_m, "rear pin"),
    ] {
        say(c.x(x_m), GUIDE_Y + 17.0, "middle", name);
    }
    say(
        0.5 * SIZE.0,
        SIZE.1 - 24.0,
        "middle",
        "the caliper reads straight across, guide to runner, at each point:",
    );
    let read = format!("with bow {} more at a screw, {} more in the middle", mm(there), mm(middle));
    say(0.5 * SIZE.0, SIZE.1 - 5.0, "middle", &read);
    svg + "</svg>\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one() -> Caliper {
        let shape =
            (-4..=4).rev().map(|i| (0.1 * f64::from(i), 1e-3 * (2.0 - 0.125 * f64::from(i * i)))).collect();
        Caliper { shape, pin_m: 0.36, screw_m: 0.2, advance_m: 1.75e-3 }
    }

    #[test]
    fn exact_screw_and_caliper_stand_apart_in_words() {
        let svg = caliper(&one());
        // 2 mm in the middle, 2 - 0.125 * 4 = 1.5 mm at a screw 0.2 m from it
        for part in ["advanced by 1.75 mm each", "1.50 mm more at a screw, 2.00 mm more in the middle"] {
            assert!(svg.contains(part), "{part}\n{svg}");
        }
        assert!(svg.starts_with("<svg") && svg.ends_with("</svg>\n"));
    }

    #[test]
    fn exact_everything_drawn_is_inside_the_drawing() {
        for c in [one(), Caliper { shape: vec![(0.4, 0.0), (-0.4, 0.0)], ..one() }] {
            let svg = caliper(&c);
            for (attribute, most) in [
                ("x1=", SIZE.0),
                ("x2=", SIZE.0),
                ("y1=", SIZE.1),
                ("y2=", SIZE.1),
                (" x=", SIZE.0),
                (" y=", SIZE.1),
            ] {
                for rest in svg.split(attribute).skip(1) {
                    let value: f64 =
                        rest[1..].split('"').next().and_then(|v| v.parse().ok()).expect("a number");
                    assert!((0.0..=most).contains(&value), "{attribute}{value}\n{svg}");
                }
            }
        }
    }
}
