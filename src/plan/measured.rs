//! The line as it was made: measured links and stones, which stone goes where, what length will come out.

use crate::params::{Design, Key};
use serde::Serialize;

/// Most rows taken.
const MOST_ROWS: usize = 2000;
/// Problems listed for one file.
const MOST_PROBLEMS: usize = 100;

/// What was measured, in the order of the line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Measured {
    /// Widths of the settings, mm, in the order of the line.
    pub links: Vec<f64>,
    /// Distances from joint to joint of each link, mm.
    pub pitches: Vec<f64>,
    /// Diameters of the stones, mm.
    pub stones: Vec<f64>,
}

/// What comes of it.
#[derive(Clone, Debug, Serialize)]
pub struct Arranged {
    /// For each place in the line: number of the stone in the file, from 1, its diameter, the setting's width.
    pub places: Vec<Place>,
    /// Gap between neighbouring settings, least and most.
    pub gaps_mm: [f64; 2],
    /// Least gap from girdle to girdle.
    pub girdles_mm: f64,
    /// Length that will come out, flat, clasp as designed.
    pub length_mm: f64,
    /// That less the designed length: what the clasp must take up (positive: too long).
    pub clasp_takes_mm: f64,
    /// What is not in order, in words.
    pub findings: Vec<String>,
}

/// One place in the line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// From the plate end, from 1.
    pub place: usize,
    /// Which stone of the file.
    pub stone: usize,
    /// Its diameter.
    pub stone_mm: f64,
    /// Width of the setting.
    pub link_mm: f64,
}

/// Reads a CSV: columns `link` (width over the setting), `pitch` (joint to joint) and `stone` (diameter), any of them, mm, separated by comma, semicolon or tab, a decimal comma where the separator
/// is none.
///
/// # Errors
/// Every line that cannot be read, in words.
pub fn read(text: &str) -> Result<Measured, Vec<String>> {
    let text = text.trim_start_matches('\u{feff}');
    let mut lines =
        text.lines().enumerate().filter(|(_, l)| !l.trim().is_empty() && !l.trim_start().starts_with('#'));
    let Some((_, head)) = lines.next() else {
        return Err(vec!["the file is empty; it needs a head \"link,stone\"".into()]);
    };
    let separator = [';', '\t', ','].into_iter().find(|s| head.contains(*s)).unwrap_or(',');
    let columns: Vec<String> =
        head.split(separator).map(|c| c.trim().trim_matches('"').to_lowercase()).collect();
    let find = |name: &str| columns.iter().position(|c| c == name);
    let (link, pitch, stone) = (find("link"), find("pitch"), find("stone"));
    if link.is_none() && stone.is_none() && pitch.is_none() {
        return Err(vec![format!(
            "line 1: the head is \"{}\"; it needs columns named link (width over the setting), pitch (joint to joint), stone (diameter), one or more, in mm",
            head.trim()
        )]);
    }
    let mut out = Measured::default();
    let mut wrong = Vec::new();
    for (i, line) in lines {
        let cells: Vec<&str> = line.split(separator).map(|c| c.trim().trim_matches('"')).collect();
        let mut take = |column: Option<usize>, name: &str, into: &mut Vec<f64>| {
            let Some(cell) = column.and_then(|c| cells.get(c)).filter(|c| !c.is_empty()) else { return };
            let plain = if separator == ',' { (*cell).to_owned() } else { cell.replace(',', ".") };
            match plain.trim_end_matches("mm").trim().parse::<f64>() {
                Ok(x) if (0.04..0.3).contains(&x) => {
                    wrong.push(format!(
                        "line {}: {name} {cell} looks like inches; write {:.2}",
                        i + 1,
                        x * 25.4
                    ));
                }
                Ok(x) if (1.0..10.0).contains(&x) => into.push(x),
                Ok(x) => {
                    wrong.push(format!("line {}: {name} {x} is no width of a link of 1 to 10 mm", i + 1))
                }
                Err(_) => wrong.push(format!("line {}: {name} \"{cell}\" is not a number of mm", i + 1)),
            }
        };
        take(link, "link", &mut out.links);
        take(pitch, "pitch", &mut out.pitches);
        take(stone, "stone", &mut out.stones);
        if i > MOST_ROWS {
            wrong.push(format!("more than {MOST_ROWS} lines; a line has at most 160 stones"));
            break;
        }
    }
    wrong.truncate(MOST_PROBLEMS);
    if wrong.is_empty() { Ok(out) } else { Err(wrong) }
}

/// Puts the largest stones where there is most room: into the longest links, or the widest settings where no pitch was
/// measured. No other order leaves more room round the tightest stone.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn arrange(design: &Design, m: &Measured) -> Arranged {
    let d = design.dims();
    let (width, pitch, play) = (design.get(Key::Width), d.pitch.get(), design.get(Key::StoneTolerance));
    let n = design.get(Key::Count).max(0.0) as usize;
    let mut findings = Vec::new();
    let fill = |list: &[f64], usual: f64, what: &str, findings: &mut Vec<String>| -> Vec<f64> {
        let mut v = list.to_vec();
        if !v.is_empty() && v.len() != n {
            findings.push(format!(
                "{} {what} measured, the line has {n}: the missing are taken as designed, more are left out",
                v.len()
            ));
        }
        v.resize(n, usual);
        v
    };
    let links = fill(&m.links, width, "links", &mut findings);
    let stones = fill(&m.stones, design.get(Key::Diameter), "stones", &mut findings);
    let pitches = fill(&m.pitches, pitch, "pitches", &mut findings);
    let room = if m.pitches.is_empty() { &links } else { &pitches };
    let mut by_room: Vec<usize> = (0..n).collect();
    by_room.sort_by(|a, b| room[*b].total_cmp(&room[*a]).then(a.cmp(b)));
    let mut by_size: Vec<usize> = (0..n).collect();
    by_size.sort_by(|a, b| stones[*b].total_cmp(&stones[*a]).then(a.cmp(b)));
    let mut places: Vec<Place> = by_room
        .iter()
        .zip(&by_size)
        .map(|(&place, &stone)| Place {
            place: place + 1,
            stone: stone + 1,
            stone_mm: stones[stone],
            link_mm: links[place],
        })
        .collect();
    places.sort_by_key(|p| p.place);
    // From middle to middle of two neighbours; the joints set it, not the widths.
    let apart: Vec<f64> = pitches.windows(2).map(|p| (p[0] + p[1]) / 2.0).collect();
    let between = |size: fn(&Place) -> f64| -> Vec<f64> {
        places.windows(2).zip(&apart).map(|(p, a)| a - (size(&p[0]) + size(&p[1])) / 2.0).collect()
    };
    let low = |v: &[f64]| v.iter().copied().fold(f64::INFINITY, f64::min);
    let gaps = between(|p| p.link_mm);
    let (least, most) = (low(&gaps), gaps.iter().copied().fold(f64::NEG_INFINITY, f64::max));
    let girdles = low(&between(|p| p.stone_mm));
    let length = pitches.iter().sum::<f64>();
    for p in &places {
        if p.link_mm - p.stone_mm < 0.05 - 1e-9 {
            findings.push(format!(
                "place {}: stone {:.2} in a setting of {:.2}: less than 0.05 of metal beyond the girdle",
                p.place, p.stone_mm, p.link_mm
            ));
        }
        if (p.stone_mm - design.get(Key::Diameter)).abs() > play + 1e-9 {
            findings.push(format!(
                "place {}: stone {:.2} is outside {:.2} plus or minus {play:.2}",
                p.place,
                p.stone_mm,
                design.get(Key::Diameter)
            ));
        }
    }
    if least < 0.08 - 1e-9 {
        findings.push(format!(
            "least gap {least:.2} mm: under 0.08 the line binds; file the wide links or open the pitch there"
        ));
    }
    if girdles < 0.05 - 1e-9 {
        findings.push(format!("least gap from girdle to girdle {girdles:.2} mm: under 0.05 they chip"));
    }
    Arranged {
        gaps_mm: [least, most],
        girdles_mm: girdles,
        length_mm: length,
        clasp_takes_mm: length - d.line_length.get(),
        places,
        findings,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_other_order_leaves_more_room_round_the_tightest_stone() {
        let text = r#"{ "metal": { "alloy": "silver925" }, "stone": { "diameter": 4.0 }, "wearer": { "wrist": 160 }, "line": { "count": 8 }, "clasp": { "kind": "bought" } }"#;
        let design = crate::params::read(text).unwrap();
        let m = Measured {
            links: vec![4.10, 4.13, 4.08, 4.11, 4.09, 4.12, 4.10, 4.07],
            pitches: vec![],
            stones: vec![4.02, 3.97, 4.05, 4.00, 3.99, 4.03, 3.96, 4.01],
        };
        let a = arrange(&design, &m);
        let ours = a.places.iter().map(|p| p.link_mm - p.stone_mm).fold(f64::INFINITY, f64::min);
        // Every order of eight stones.
        fn best(k: usize, order: &mut [f64], links: &[f64]) -> f64 {
            if k == order.len() {
                return links.iter().zip(order.iter()).map(|(l, s)| l - s).fold(f64::INFINITY, f64::min);
            }
            let mut most = f64::NEG_INFINITY;
            for i in k..order.len() {
                order.swap(k, i);
                most = most.max(best(k + 1, order, links));
                order.swap(k, i);
            }
            most
        }
        let any = best(0, &mut m.stones.clone(), &m.links);
        assert!((ours - any).abs() < 1e-12, "{ours} {any}");
        assert!((a.length_mm - design.dims().line_length.get()).abs() < 1e-9);
    }

    #[test]
    fn columns_separators_commas_and_inches() {
        let m = read("link;stone\n4,10;4,02\n4,11;3,98\n").unwrap();
        assert_eq!((m.links, m.stones), (vec![4.10, 4.11], vec![4.02, 3.98]));
        let e = read("link,stone\n0.161,4.0\nx,4.0\n").unwrap_err();
        assert!(e[0].contains("inches") && e[0].contains("4.09") && e[1].contains("line 3"), "{e:?}");
        assert!(read("a,b\n1,2\n").unwrap_err()[0].contains("link"));
        assert!(read("").is_err());
    }
}
