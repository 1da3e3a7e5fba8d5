//! A quantity over two parameters: cells with their values, contours, and the flat region round the least.

use crate::chart::{GREY, Picture, PictureError, both, centred, checked, on_sheet, refused, short};
use crate::contours::{crossings, outline};
use crate::descent_plan::shade;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// One map. Cells are drawn equally large whatever the steps of the parameters are.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Map {
    /// What it is a map of, for example a skill.
    pub label: String,
    /// Parameter across, in rising order, in the unit of its label.
    pub across: Vec<f64>,
    /// Parameter upwards, in rising order, in the unit of its label.
    pub up: Vec<f64>,
    /// The quantity, a row for each value of `up`; none where there is no result.
    pub values: Vec<Vec<Option<f64>>>,
}

/// Words and lines of the maps of one picture.
#[derive(Clone, Debug, PartialEq)]
pub struct MapWords<'a> {
    /// Name of its files, without ending.
    pub name: &'a str,
    /// Title.
    pub title: &'a str,
    /// Parameter across, with its unit.
    pub across: &'a str,
    /// Parameter upwards, with its unit.
    pub up: &'a str,
    /// The quantity, with its unit.
    pub quantity: &'a str,
    /// Digits after the point of the values.
    pub digits: usize,
    /// Levels of the contours, in the unit of the quantity.
    pub levels: &'a [f64],
    /// The flat region is every cell no more than this above the least of its map.
    pub flat_within: Option<f64>,
}

/// Maps beside each other, all to the same scale of colours.
///
/// # Errors
/// No maps, a map without a value, rows or columns of other lengths, or a value that is not finite.
pub fn maps(words: &MapWords<'_>, maps: &[Map]) -> Result<Picture, PictureError> {
    for map in maps {
        check(words.name, map)?;
    }
    checked(words.name, "levels", words.levels, words.levels.len())?;
    if let Some(within) = words.flat_within {
        checked(words.name, "flat_within", &[within], 1)?;
    }
    let all = || maps.iter().flat_map(|m| m.values.iter().flatten().flatten().copied());
    let ends = all().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if maps.iter().any(|m| least(m).is_none()) || ends.0 > ends.1 {
        return Err(PictureError::Empty { picture: words.name.into() });
    }
    let sheet = Sheet { words, maps, ends };
    both(words.name, sheet.size(), |s| on_sheet!(s, |area, scale| sheet.draw(area, scale)))
}

fn check(picture: &str, map: &Map) -> Result<(), PictureError> {
    let place = |column: &str| format!("map {}, {column}", map.label);
    checked(picture, &place("across"), &map.across, map.across.len())?;
    checked(picture, &place("up"), &map.up, map.up.len())?;
    let (expected, got) = (map.up.len(), map.values.len());
    if expected != got {
        let (picture, column) = (picture.into(), place("rows"));
        return Err(PictureError::Uneven { picture, column, expected, got });
    }
    for (j, row) in map.values.iter().enumerate() {
        // no result is no fault
        let known: Vec<f64> = row.iter().map(|v| v.unwrap_or(0.0)).collect();
        checked(picture, &place(&format!("row {j}")), &known, map.across.len())?;
    }
    Ok(())
}

/// Place and value of the least of a map.
fn least(map: &Map) -> Option<(usize, usize, f64)> {
    let cells = map
        .values
        .iter()
        .enumerate()
        .flat_map(|(j, row)| row.iter().enumerate().filter_map(move |(i, v)| v.map(|v| (i, j, v))));
    cells.min_by(|a, b| a.2.total_cmp(&b.2))
}

/// Room left of, above and below the cells of a map, and between maps.
const ROOM: [u32; 4] = [70, 24, 46, 18];
/// Width of the bar of colours with its words.
const BAR: u32 = 130;
/// Height of the title.
const HEAD: u32 = 40;

struct Sheet<'a> {
    words: &'a MapWords<'a>,
    maps: &'a [Map],
    ends: (f64, f64),
}

impl Sheet<'_> {
    /// Maps in a row.
    fn across(&self) -> usize {
        if self.maps.len() == 4 { 2 } else { self.maps.len().min(3) }
    }

    fn rows(&self) -> u32 {
        self.maps.len().div_ceil(self.across()) as u32
    }

    /// Width and height of the cells of one map.
    fn plot(&self) -> (u32, u32) {
        if self.maps.len() == 1 { (640, 420) } else { (300, 230) }
    }

    fn size(&self) -> (u32, u32) {
        let columns = self.across() as u32;
        let (w, h) = self.plot();
        let high = HEAD + self.rows() * (h + ROOM[1] + ROOM[2]) + 26;
        (columns * (w + ROOM[0] + ROOM[3]) + BAR + 20, high)
    }

    fn share(&self, v: f64) -> f64 {
        (v - self.ends.0) / (self.ends.1 - self.ends.0).max(1e-300)
    }

    fn draw<B: DrawingBackend>(&self, area: &DrawingArea<B, Shift>, scale: u32) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let s = |v: u32| (v * scale) as i32;
        let font = |size: u32| ("sans-serif", size * scale).into_font();
        area.draw(&Text::new(self.words.title.to_string(), (s(14), s(12)), font(16))).map_err(refused)?;
        let (w, h) = self.plot();
        for (n, map) in self.maps.iter().enumerate() {
            let (column, row) = ((n % self.across()) as u32, (n / self.across()) as u32);
            let x = s(ROOM[0] + column * (w + ROOM[0] + ROOM[3]));
            let y = s(HEAD + ROOM[1] + row * (h + ROOM[1] + ROOM[2]));
            self.one(area, scale, map, (x, y))?;
        }
        self.bar(area, scale)?;
        let mut key = "ring: least".to_string();
        if let Some(within) = self.words.flat_within {
            key += &format!("; thick outline: flat region, within {} of the least", short(within));
        }
        if self.maps.iter().any(|m| m.values.iter().flatten().any(Option::is_none)) {
            key += "; cross: no result";
        }
        let y = s(self.size().1 - 22);
        area.draw(&Text::new(key, (s(ROOM[0]), y), font(11))).map_err(refused)
    }

    fn one<B: DrawingBackend>(
        &self,
        area: &DrawingArea<B, Shift>,
        scale: u32,
        map: &Map,
        (x0, y0): (i32, i32),
    ) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let s = |v: u32| (v * scale) as i32;
        let (w, h) = (f64::from(s(self.plot().0)), f64::from(s(self.plot().1)));
        let (step_x, step_y) = (w / map.across.len() as f64, h / map.up.len() as f64);
        let place = |(i, j): (f64, f64)| {
            let right = f64::from(x0) + (i + 0.5) * step_x;
            let down = f64::from(y0) + h - (j + 0.5) * step_y;
            (right.round() as i32, down.round() as i32)
        };
        let roomy = step_x >= f64::from(s(30)) && step_y >= f64::from(s(15));
        let digits = self.words.digits;
        for (j, row) in map.values.iter().enumerate() {
            for (i, v) in row.iter().enumerate() {
                let (i, j) = (i as f64, j as f64);
                let (a, b) = (place((i - 0.5, j + 0.5)), place((i + 0.5, j - 0.5)));
                let Some(v) = v else {
                    let style = GREY.stroke_width(scale);
                    area.draw(&PathElement::new(vec![a, b], style)).map_err(refused)?;
                    area.draw(&PathElement::new(vec![(a.0, b.1), (b.0, a.1)], style)).map_err(refused)?;
                    continue;
                };
                area.draw(&Rectangle::new([a, b], shade(self.share(*v)).filled())).map_err(refused)?;
            }
        }
        let lines = |pieces: Vec<[(f64, f64); 2]>, style: ShapeStyle| -> Result<(), PictureError> {
            for [a, b] in pieces {
                area.draw(&PathElement::new(vec![place(a), place(b)], style)).map_err(refused)?;
            }
            Ok(())
        };
        for level in self.words.levels {
            lines(crossings(&map.values, *level), WHITE.stroke_width(3 * scale))?;
            lines(crossings(&map.values, *level), BLACK.stroke_width(scale))?;
        }
        let best = least(map);
        if let (Some(within), Some((_, _, low))) = (self.words.flat_within, best) {
            let flat = |v: &Option<f64>| v.is_some_and(|v| v <= low + within);
            let inside: Vec<Vec<bool>> =
                map.values.iter().map(|row| row.iter().map(flat).collect()).collect();
            lines(outline(&inside), WHITE.stroke_width(5 * scale))?;
            lines(outline(&inside), BLACK.stroke_width(3 * scale))?;
        }
        if roomy {
            for (j, row) in map.values.iter().enumerate() {
                for (i, v) in row.iter().enumerate() {
                    let Some(v) = v else { continue };
                    let (x, y) = place((i as f64, j as f64));
                    // the map of colours is dark below about its middle
                    let ink = if self.share(*v) < 0.6 { WHITE } else { BLACK };
                    let text = format!("{v:.digits$}");
                    // the colour of the cell behind the value, so that no line runs through it
                    let half = (s(3) * text.len() as i32, s(6));
                    let ground = [(x - half.0, y - half.1), (x + half.0, y + half.1)];
                    area.draw(&Rectangle::new(ground, shade(self.share(*v)).filled())).map_err(refused)?;
                    let font = ("sans-serif", 10 * scale).into_font().color(&ink);
                    let style = font.pos(Pos::new(HPos::Center, VPos::Center));
                    area.draw(&Text::new(text, (x, y), style)).map_err(refused)?;
                }
            }
        }
        if let Some((i, j, _)) = best {
            let at = place((i as f64, j as f64));
            let r = if roomy { (0.46 * step_x.min(step_y)) as i32 } else { s(4) };
            area.draw(&Circle::new(at, r, WHITE.stroke_width(2 * scale))).map_err(refused)?;
        }
        self.axes(area, scale, map, (x0, y0))
    }

    fn axes<B: DrawingBackend>(
        &self,
        area: &DrawingArea<B, Shift>,
        scale: u32,
        map: &Map,
        (x0, y0): (i32, i32),
    ) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let s = |v: u32| (v * scale) as i32;
        let (w, h) = (s(self.plot().0), s(self.plot().1));
        let middle = x0 + w / 2;
        area.draw(&centred(&map.label, (middle, y0 - s(18)), 12 * scale)).map_err(refused)?;
        area.draw(&centred(self.words.across, (middle, y0 + h + s(22)), 11 * scale)).map_err(refused)?;
        let turned = ("sans-serif", 11 * scale).into_font().transform(FontTransform::Rotate270);
        let half = (0.28 * f64::from(11 * scale) * self.words.up.chars().count() as f64) as i32;
        area.draw(&Text::new(self.words.up.to_string(), (x0 - s(58), y0 + h / 2 + half), turned))
            .map_err(refused)?;
        // at most so many values that they do not touch
        let every = |n: usize, room: i32, each: i32| n.div_ceil((room / each).max(1) as usize).max(1);
        let step = every(map.across.len(), w, s(34));
        for (i, v) in map.across.iter().enumerate().step_by(step) {
            let x = x0 + (f64::from(w) * (i as f64 + 0.5) / map.across.len() as f64) as i32;
            area.draw(&centred(&short(*v), (x, y0 + h + s(6)), 10 * scale)).map_err(refused)?;
        }
        let step = every(map.up.len(), h, s(15));
        for (j, v) in map.up.iter().enumerate().step_by(step) {
            let y = y0 + h - (f64::from(h) * (j as f64 + 0.5) / map.up.len() as f64) as i32;
            area.draw(&centred(&short(*v), (x0 - s(20), y - s(6)), 10 * scale)).map_err(refused)?;
        }
        Ok(())
    }

    fn bar<B: DrawingBackend>(&self, area: &DrawingArea<B, Shift>, scale: u32) -> Result<(), PictureError>
    where
        B::ErrorType: 'static,
    {
        let s = |v: u32| (v * scale) as i32;
        let font = ("sans-serif", 11 * scale).into_font();
        let (x, top) = (s(self.size().0 - BAR), s(HEAD + ROOM[1]));
        let (wide, high) = (s(18), s(self.plot().1));
        let steps = 80;
        for i in 0..steps {
            let (a, b) = (top + high * (steps - 1 - i) / steps, top + high * (steps - i) / steps);
            let colour = shade(f64::from(i) / f64::from(steps - 1));
            area.draw(&Rectangle::new([(x, a), (x + wide, b)], colour.filled())).map_err(refused)?;
        }
        let digits = self.words.digits;
        let at = |v: f64| top + high - (f64::from(high) * self.share(v)) as i32;
        let inside = |v: &&f64| self.ends.0 < **v && **v < self.ends.1;
        for v in self.words.levels.iter().filter(inside) {
            let line = vec![(x, at(*v)), (x + wide, at(*v))];
            area.draw(&PathElement::new(line, BLACK.stroke_width(scale))).map_err(refused)?;
        }
        // levels beside the bar; its ends too, where no level is near
        let near = |v: f64| self.words.levels.iter().any(|l| (at(*l) - at(v)).abs() < s(12) && inside(&l));
        let ends = [self.ends.0, self.ends.1].into_iter().filter(|v| !near(*v));
        let mut above = i32::MAX;
        let mut told: Vec<f64> = self.words.levels.iter().filter(inside).copied().chain(ends).collect();
        told.sort_by(f64::total_cmp);
        for v in told {
            if above - at(v) >= s(12) {
                let place = (x + wide + s(6), at(v) - s(6));
                area.draw(&Text::new(format!("{v:.digits$}"), place, font.clone())).map_err(refused)?;
                above = at(v);
            }
        }
        let place = (x - s(4), top - s(20));
        area.draw(&Text::new(self.words.quantity.to_string(), place, font)).map_err(refused)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WORDS: MapWords<'_> = MapWords {
        name: "bow_map",
        title: "Finish time over the bow of both screws (invented)",
        across: "rear screw (mm)",
        up: "front screw (mm)",
        quantity: "time (s)",
        digits: 2,
        levels: &[55.1, 55.2],
        flat_within: Some(0.03),
    };

    fn map(label: &str, shift: f64) -> Map {
        let across: Vec<f64> = (0..7).map(|i| 0.5 + 0.5 * f64::from(i)).collect();
        let up = across[..5].to_vec();
        let value = |x: f64, y: f64| 55.0 + shift + 0.04 * ((x - 1.5).powi(2) + (y - 1.0).powi(2));
        let values = up.iter().map(|y| across.iter().map(|x| Some(value(*x, *y))).collect()).collect();
        Map { label: label.into(), across, up, values }
    }

    #[test]
    fn exact_labels_values_and_same_bytes_twice() {
        let mut two = map("learning", 0.1);
        two.values[4][6] = None;
        let all = [map("skilled", 0.0), two];
        let picture = maps(&WORDS, &all).unwrap();
        for words in ["skilled", "learning", "rear screw (mm)", "front screw (mm)", "time (s)", "no result"] {
            assert!(picture.svg.contains(words), "{words}");
        }
        // the least of the first map, at 1.5 and 1 mm
        assert!(picture.svg.contains("55.00") && !picture.svg.contains("NaN"));
        assert_eq!(least(&all[0]).map(|l| (l.0, l.1)), Some((2, 1)));
        assert_eq!(&picture.png[..8], b"\x89PNG\r\n\x1a\n");
        assert_eq!(picture, maps(&WORDS, &all).unwrap());
    }

    #[test]
    fn exact_faulty_input_is_told() {
        assert!(matches!(maps(&WORDS, &[]), Err(PictureError::Empty { .. })));
        let mut bad = map("a", 0.0);
        bad.values[2][3] = Some(f64::NAN);
        let got = maps(&WORDS, &[bad]);
        assert!(matches!(got, Err(PictureError::NotFinite { row: 3, .. })), "{got:?}");
        let mut short = map("a", 0.0);
        short.values.pop();
        let got = maps(&WORDS, &[short]);
        assert!(matches!(got, Err(PictureError::Uneven { expected: 5, got: 4, .. })), "{got:?}");
        let none = Map { values: vec![vec![None; 7]; 5], ..map("a", 0.0) };
        assert!(matches!(maps(&WORDS, &[none]), Err(PictureError::Empty { .. })));
    }
}
