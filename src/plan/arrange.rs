//! The line as it was made: which link and which stone goes where for even gaps, what length comes out, what the clasp takes up.

use super::form::{Chapter, Item};
use super::line::{EASE, GAPS, inner_length, line};
use super::measured::Measured;
use crate::params::{Design, Key};
use serde::Serialize;

/// Least metal of the setting beyond the girdle, and least room from girdle to girdle, mm (common practice, no published source).
const ROOM: f64 = 0.05;
/// Links stay in the order they lie in unless another makes the gaps more even by this much, mm: less is not seen, nor measured.
const WORTH: f64 = 0.005;
/// Other orders that the search for even gaps starts from.
const STARTS: usize = 12;

/// What comes of it.
#[derive(Clone, Debug, Serialize)]
pub struct Arranged {
    /// The places of the line, from the plate's end, the clasp's stones last.
    pub places: Vec<Place>,
    /// Gap between neighbouring settings, least and most.
    pub gaps_mm: [f64; 2],
    /// The same with the links in the order of the file.
    pub gaps_as_listed_mm: [f64; 2],
    /// Whether the links are to change places.
    pub links_moved: bool,
    /// Least gap from girdle to girdle.
    pub girdles_mm: f64,
    /// Length that comes out, flat, the clasp as measured or designed.
    pub length_mm: f64,
    /// The same, pulled: with the play of the joints.
    pub pulled_mm: f64,
    /// Length less the designed length: what the clasp must take up (positive: too long).
    pub clasp_takes_mm: f64,
    /// Our own clasp, where its stones are not measured: the length it must have so that the line closes as designed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clasp_to_make_mm: Option<f64>,
    /// Gap between its settings then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gap_on_clasp_mm: Option<f64>,
    /// Ease on the wrist at the length that comes out.
    pub ease_mm: f64,
    /// Links of the file that have no place.
    pub spare_links: Vec<usize>,
    /// Stones of the file that have no place.
    pub spare_stones: Vec<usize>,
    /// What is not in order, in words.
    pub findings: Vec<String>,
}

/// One place in the line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Place {
    /// From the plate's end, from 1.
    pub place: usize,
    /// Whether it is on the clasp.
    pub on_clasp: bool,
    /// Which link of the file, from 1; `None`: as designed.
    pub link: Option<usize>,
    /// Which stone of the file, from 1; `None`: as designed.
    pub stone: Option<usize>,
    /// Its diameter.
    pub stone_mm: f64,
    /// Width of the setting.
    pub link_mm: f64,
    /// From joint to joint.
    pub pitch_mm: f64,
    /// Gap to the setting of the next place, of the last to the first; `None` beside a bought clasp.
    pub gap_mm: Option<f64>,
}

/// A link that has a place.
#[derive(Clone, Copy)]
struct Link {
    number: Option<usize>,
    width: f64,
    pitch: f64,
}

impl Link {
    /// What it adds to the gap on either side.
    fn side(&self) -> f64 {
        (self.pitch - self.width) / 2.0
    }
}

/// Least and most.
fn ends(v: impl Iterator<Item = f64>) -> [f64; 2] {
    v.fold([f64::INFINITY, f64::NEG_INFINITY], |e, x| [e[0].min(x), e[1].max(x)])
}

/// Numbers of the `n` values nearest to `usual`, in the order of the list, and of the others.
fn nearest_to(list: &[f64], usual: f64, n: usize) -> (Vec<usize>, Vec<usize>) {
    let mut by: Vec<usize> = (0..list.len()).collect();
    by.sort_by(|a, b| (list[*a] - usual).abs().total_cmp(&(list[*b] - usual).abs()).then(a.cmp(b)));
    let (mut kept, mut spare) = (by.clone(), by.split_off(n.min(by.len())));
    kept.truncate(n);
    kept.sort_unstable();
    spare.sort_unstable();
    (kept, spare)
}

/// How uneven an order is: most less least gap, then their squares. `fixed` stands before the first and after the last.
fn uneven(side: &[f64], order: &[usize], fixed: Option<(f64, f64)>) -> (f64, f64) {
    let (mut least, mut most, mut squares) = (f64::INFINITY, f64::NEG_INFINITY, 0.0);
    let mut take = |gap: f64| {
        least = least.min(gap);
        most = most.max(gap);
        squares += gap * gap;
    };
    order.windows(2).for_each(|o| take(side[o[0]] + side[o[1]]));
    if let (Some((before, after)), Some(first), Some(last)) = (fixed, order.first(), order.last()) {
        take(before + side[*first]);
        take(side[*last] + after);
    }
    ((most - least).max(0.0), squares)
}

fn better(a: (f64, f64), b: (f64, f64)) -> bool {
    a.0 < b.0 - 1e-9 || a.0 < b.0 + 1e-9 && a.1 < b.1 - 1e-9
}

/// An order of links with even gaps, from wide and narrow in turn and from other starts, each bettered by exchanging two links
/// until no exchange makes it more even.
fn even(side: &[f64], fixed: Option<(f64, f64)>) -> Vec<usize> {
    let listed: Vec<usize> = (0..side.len()).collect();
    let mut by = listed.clone();
    by.sort_by(|a, b| side[*a].total_cmp(&side[*b]).then(a.cmp(b)));
    // Narrowest beside widest, so that each gap has a large share and a small one.
    let (mut low, mut high) = (by.iter(), by.iter().rev());
    let in_turn: Vec<usize> =
        (0..by.len()).filter_map(|k| if k % 2 == 0 { high.next() } else { low.next() }).copied().collect();
    let mut best = (uneven(side, &listed, fixed), listed.clone());
    let mut seed = 1u64;
    for start in 0..STARTS {
        let mut order = if start == 0 { in_turn.clone() } else { listed.clone() };
        if start > 1 {
            // Knuth's linear congruential sequence: the same orders on every run.
            for k in (1..order.len()).rev() {
                seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                #[allow(clippy::cast_possible_truncation)]
                order.swap(k, ((seed >> 33) as usize) % (k + 1));
            }
        }
        let mut now = uneven(side, &order, fixed);
        loop {
            let before = now;
            for i in 0..order.len() {
                for j in i + 1..order.len() {
                    order.swap(i, j);
                    let then = uneven(side, &order, fixed);
                    if better(then, now) {
                        now = then;
                    } else {
                        order.swap(i, j);
                    }
                }
            }
            if !better(now, before) {
                break;
            }
        }
        if better(now, best.0) {
            best = (now, order);
        }
    }
    best.1
}

/// Orders the links for even gaps, and puts the largest stones where there is most room: into the longest links, or the widest
/// settings where no pitch was measured. No other order of the stones leaves more room round the tightest one.
#[must_use]
#[allow(clippy::cast_precision_loss)]
pub fn arrange(design: &Design, m: &Measured) -> Arranged {
    let l = line(design);
    let folding = design.dims().clasp.is_some();
    let on_clasp = if folding { l.clasp_stones } else { 0 };
    let n = l.links + on_clasp;
    let (width, pitch, diameter) = (design.get(Key::Width), l.pitch_mm, design.get(Key::Diameter));
    let mut findings = Vec::new();

    // The links: those that have a place, then the clasp's.
    let rows = m.links.len().max(m.pitches.len());
    let link = |i: usize| Link {
        number: Some(i + 1),
        width: m.links.get(i).copied().unwrap_or(width),
        pitch: m.pitches.get(i).copied().unwrap_or(pitch),
    };
    let designed = Link { number: None, width, pitch };
    let with_clasp = folding && rows == n;
    let all: Vec<Link> = (0..if with_clasp { l.links } else { rows }).map(link).collect();
    let list: Vec<f64> = all.iter().map(|x| if m.pitches.is_empty() { x.width } else { x.pitch }).collect();
    let usual = if m.pitches.is_empty() { width } else { pitch };
    let (kept, spare_links) = nearest_to(&list, usual, l.links);
    let mut links: Vec<Link> = kept.iter().map(|i| all[*i]).collect();
    if rows > 0 && links.len() < l.links {
        findings.push(format!(
            "{} links measured, the line has {}: the missing are taken as designed",
            links.len(),
            l.links
        ));
    }
    links.resize(l.links, designed);
    let clasp: Vec<Link> =
        (0..on_clasp).map(|k| if with_clasp { link(l.links + k) } else { designed }).collect();

    // Links in order.
    let side: Vec<f64> = links.iter().map(Link::side).collect();
    let fixed = match (clasp.last(), clasp.first()) {
        (Some(last), Some(first)) => Some((last.side(), first.side())),
        _ => None,
    };
    let listed: Vec<usize> = (0..links.len()).collect();
    let found = even(&side, fixed);
    let gain = uneven(&side, &listed, fixed).0 - uneven(&side, &found, fixed).0;
    let links_moved = gain > WORTH;
    let order = if links_moved { found } else { listed };
    let line_up = |order: &[usize]| -> Vec<Link> {
        order.iter().map(|i| links[*i]).chain(clasp.iter().copied()).collect()
    };
    let gaps = |row: &[Link]| -> Vec<f64> {
        let closing = folding.then(|| row.last().zip(row.first())).flatten();
        let pairs = row.windows(2).map(|p| p[0].side() + p[1].side());
        pairs.chain(closing.map(|(a, b)| a.side() + b.side())).collect()
    };
    let before = gaps(&line_up(&(0..links.len()).collect::<Vec<_>>()));
    let row = line_up(&order);
    let between = gaps(&row);

    // Stones: the largest to the longest.
    let (kept, spare_stones) = nearest_to(&m.stones, diameter, n);
    if !m.stones.is_empty() && kept.len() < n {
        findings.push(format!(
            "{} stones measured, the line has {n}: the missing are taken as designed",
            kept.len()
        ));
    }
    let mut stones: Vec<(Option<usize>, f64)> = kept.iter().map(|i| (Some(*i), m.stones[*i])).collect();
    stones.resize(n, (None, diameter));
    stones.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let room = |k: usize| if m.pitches.is_empty() { row[k].width } else { row[k].pitch };
    let mut by_room: Vec<usize> = (0..row.len()).collect();
    by_room.sort_by(|a, b| room(*b).total_cmp(&room(*a)).then(a.cmp(b)));
    let mut places: Vec<Place> = by_room
        .iter()
        .zip(&stones)
        .map(|(&k, &(stone, stone_mm))| Place {
            place: k + 1,
            on_clasp: k >= l.links,
            link: row[k].number,
            stone: stone.map(|s| s + 1),
            stone_mm,
            link_mm: row[k].width,
            pitch_mm: row[k].pitch,
            gap_mm: between.get(k).copied(),
        })
        .collect();
    places.sort_by_key(|p| p.place);
    let girdles = places
        .windows(2)
        .map(|p| (p[0].pitch_mm + p[1].pitch_mm - p[0].stone_mm - p[1].stone_mm) / 2.0)
        .fold(f64::INFINITY, f64::min);

    // Lengths.
    let bought = if folding { 0.0 } else { l.clasp_mm };
    let length = row.iter().map(|x| x.pitch).sum::<f64>() + bought;
    let takes = length - l.length_mm;
    let make = (folding && !with_clasp).then_some(l.clasp_mm - takes);
    let gap_on_clasp = make.map(|c| c / on_clasp as f64 - width);
    let count = l.stones as f64;
    let z = design.dims().joint_height.get();
    let ease = inner_length(count, length / count, z) - l.wrist_mm;

    sizes(design, &places, &mut findings);
    let [least, most] = ends(between.iter().copied());
    if least < GAPS.0 - 1e-9 {
        findings.push(format!(
            "least gap {least:.2} mm: under {:.2} the line binds; file the wide settings or open the pitch there",
            GAPS.0
        ));
    }
    if most > GAPS.1 + 1e-9 {
        findings.push(format!("largest gap {most:.2} mm: over {:.2} the joint shows", GAPS.1));
    }
    if girdles < ROOM - 1e-9 {
        findings.push(format!("least gap from girdle to girdle {girdles:.2} mm: under {ROOM:.2} they chip"));
    }
    if let Some(gap) = gap_on_clasp.filter(|g| !(GAPS.0 - 1e-9..=GAPS.1 + 1e-9).contains(g)) {
        findings.push(format!(
            "the clasp would have to take up {takes:+.2} mm, gaps of {gap:.2} between its stones; {:.2} to {:.2} are made: \
             exchange links, or settle on another length",
            GAPS.0, GAPS.1
        ));
    }
    if !(EASE.0..=EASE.1).contains(&ease) {
        findings.push(format!("ease {ease:.2} mm at this length: {:.0} to {:.0} is worn", EASE.0, EASE.1));
    }
    Arranged {
        gaps_mm: [least, most],
        gaps_as_listed_mm: ends(before.into_iter()),
        links_moved,
        girdles_mm: girdles,
        length_mm: length,
        pulled_mm: length + l.spread.play_mm,
        clasp_takes_mm: takes,
        clasp_to_make_mm: make,
        gap_on_clasp_mm: gap_on_clasp,
        ease_mm: ease,
        spare_links: spare_links.iter().map(|i| i + 1).collect(),
        spare_stones: spare_stones.iter().map(|i| i + 1).collect(),
        places,
        findings,
    }
}

/// Stones too large for their setting, or outside what was ordered.
fn sizes(design: &Design, places: &[Place], findings: &mut Vec<String>) {
    let (diameter, play) = (design.get(Key::Diameter), design.get(Key::StoneTolerance));
    for p in places {
        if p.link_mm - p.stone_mm < ROOM - 1e-9 {
            findings.push(format!(
                "place {}: stone {:.2} in a setting of {:.2}: less than {ROOM:.2} of metal beyond the girdle",
                p.place, p.stone_mm, p.link_mm
            ));
        }
        if (p.stone_mm - diameter).abs() > play + 1e-9 {
            findings.push(format!(
                "place {}: stone {:.2} is outside {diameter:.2} plus or minus {play:.2}",
                p.place, p.stone_mm
            ));
        }
    }
}

fn numbers(list: &[usize]) -> String {
    list.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")
}

/// The same as chapters, for terminal, Markdown and CSV.
#[must_use]
pub fn chapters(a: &Arranged) -> Vec<Chapter> {
    let fact = |name: &str, value: String| Item::Fact(name.to_owned(), value);
    let from_to = |x: [f64; 2]| format!("{:.3} to {:.3} mm", x[0], x[1]);
    let number = |x: Option<usize>| x.map_or_else(|| "-".to_owned(), |x| x.to_string());
    let rows = a
        .places
        .iter()
        .map(|p| {
            vec![
                format!("{}{}", p.place, if p.on_clasp { " c" } else { "" }),
                number(p.link),
                number(p.stone),
                format!("{:.3}", p.link_mm),
                format!("{:.3}", p.pitch_mm),
                format!("{:.3}", p.stone_mm),
                p.gap_mm.map_or_else(|| "-".to_owned(), |g| format!("{g:.3}")),
            ]
        })
        .collect();
    let mut items = vec![
        Item::Table(vec!["place", "link no.", "stone no.", "setting", "pitch", "stone", "gap to next"], rows),
        Item::Note(
            "Places from the plate's end; c: on the clasp. Numbers are the rows of the file; -: as designed. The last gap is \
             that of the closed line."
                .into(),
        ),
        Item::Note(if a.links_moved {
            "The links change places, wide gaps beside narrow; no exchange of two links makes the gaps more even.".into()
        } else {
            format!("The links stay as they lie: no order found makes the gaps more even by {WORTH} mm.")
        }),
    ];
    for (what, list) in [("links", &a.spare_links), ("stones", &a.spare_stones)] {
        if !list.is_empty() {
            items.push(fact(&format!("{what} left over"), numbers(list)));
        }
    }
    let mut comes = vec![
        fact("gaps", from_to(a.gaps_mm)),
        fact("gaps as they lay", from_to(a.gaps_as_listed_mm)),
        fact("girdle to girdle", format!("at least {:.3} mm", a.girdles_mm)),
        fact("length, flat", format!("{:.2} mm; pulled {:.2}", a.length_mm, a.pulled_mm)),
        fact("ease", format!("{:.2} mm", a.ease_mm)),
        fact("clasp takes up", format!("{:+.2} mm", a.clasp_takes_mm)),
    ];
    if let (Some(c), Some(g)) = (a.clasp_to_make_mm, a.gap_on_clasp_mm) {
        comes.push(fact("clasp to make", format!("{c:.2} mm, gaps of {g:.3} between its settings")));
    } else if a.clasp_takes_mm.abs() > 5e-3 {
        comes.push(Item::Note("The clasp is as it is: the line comes out at that length.".into()));
    }
    vec![
        Chapter { title: "To settle first", items: a.findings.iter().cloned().map(Item::Finding).collect() },
        Chapter { title: "What goes where", items },
        Chapter { title: "What comes out", items: comes },
    ]
    .into_iter()
    .filter(|c| !c.items.is_empty())
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(count: usize) -> Design {
        let text = format!(
            r#"{{ "metal": {{ "alloy": "silver925" }}, "stone": {{ "diameter": 4.0 }}, "wearer": {{ "wrist": 160 }}, "line": {{ "count": {count} }}, "clasp": {{ "kind": "bought", "count": 1 }} }}"#
        );
        crate::params::read(&text).unwrap()
    }

    /// Every order.
    fn all(k: usize, order: &mut Vec<usize>, see: &mut dyn FnMut(&[usize])) {
        if k == order.len() {
            return see(order);
        }
        for i in k..order.len() {
            order.swap(k, i);
            all(k + 1, order, see);
            order.swap(k, i);
        }
    }

    #[test]
    fn no_other_order_leaves_more_room_round_the_tightest_stone() {
        let m = Measured {
            links: vec![4.10, 4.13, 4.08, 4.11, 4.09, 4.12, 4.10, 4.07],
            pitches: vec![],
            stones: vec![4.02, 3.97, 4.05, 4.00, 3.99, 4.03, 3.96, 4.01],
        };
        let a = arrange(&design(9), &m);
        let ours = a.places.iter().map(|p| p.link_mm - p.stone_mm).fold(f64::INFINITY, f64::min);
        let mut any = f64::NEG_INFINITY;
        all(0, &mut (0..8).collect(), &mut |o| {
            let least = m.links.iter().zip(o).map(|(l, s)| l - m.stones[*s]).fold(f64::INFINITY, f64::min);
            any = any.max(least);
        });
        assert!((ours - any).abs() < 1e-12, "{ours} {any}");
        assert!(a.clasp_takes_mm.abs() < 1e-9, "{}", a.clasp_takes_mm);
    }

    #[test]
    fn gaps_are_as_even_as_any_order_of_eight_links_makes_them() {
        let mut seed = 7u64;
        let mut draw = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            0.03 + 0.04 * ((seed >> 40) as f64 / f64::from(1u32 << 24))
        };
        for case in 0..12 {
            let side: Vec<f64> = (0..7).map(|_| draw()).collect();
            let fixed = (case % 2 == 0).then(|| (draw(), draw()));
            let ours = uneven(&side, &even(&side, fixed), fixed).0;
            let mut best = f64::INFINITY;
            all(0, &mut (0..7).collect(), &mut |o| best = best.min(uneven(&side, o, fixed).0));
            assert!(ours <= best + 1e-9, "case {case}: {ours} against {best}");
        }
    }

    #[test]
    fn links_change_places_and_the_clasp_takes_up_what_is_left() {
        let text = include_str!("../../params/line-4.0-platinum.jsonc");
        let d = crate::params::read(text).unwrap();
        // Narrow settings first, then wide: as they lie the gaps run from wide to narrow.
        let links: Vec<f64> = (0..37).map(|i| 4.08 + 0.04 * f64::from(i) / 36.0).collect();
        let a = arrange(&d, &Measured { links: links.clone(), pitches: vec![4.21; 37], stones: vec![] });
        let spread = |g: [f64; 2]| g[1] - g[0];
        assert!(a.links_moved && spread(a.gaps_mm) < 0.6 * spread(a.gaps_as_listed_mm), "{a:?}");
        let mut used: Vec<usize> = a.places.iter().filter_map(|p| p.link).collect();
        used.sort_unstable();
        assert_eq!(used, (1..=37).collect::<Vec<_>>());
        assert!((a.clasp_takes_mm - 0.37).abs() < 1e-9);
        assert!(a.clasp_to_make_mm.is_some_and(|c| (c - 20.63).abs() < 1e-9));
        // 42 rows: the last five are the clasp's own, and stay.
        let a = arrange(
            &d,
            &Measured { links: [&links[..], &[4.1; 5]].concat(), pitches: vec![], stones: vec![] },
        );
        let last: Vec<_> = a.places.iter().skip(37).map(|p| (p.on_clasp, p.link)).collect();
        assert_eq!(last, (38..=42).map(|i| (true, Some(i))).collect::<Vec<_>>());
        assert!(a.clasp_to_make_mm.is_none() && a.places[41].gap_mm.is_some());
    }

    #[test]
    fn what_is_over_is_left_over_and_what_lacks_is_told() {
        let m =
            Measured { links: vec![], pitches: vec![], stones: [vec![4.0; 9], vec![3.90, 4.04]].concat() };
        let a = arrange(&design(11), &m);
        assert_eq!(a.spare_stones, [10]);
        let a = arrange(&design(13), &m);
        assert!(a.findings.iter().any(|f| f.contains("11 stones measured")), "{:?}", a.findings);
        assert!(!a.links_moved && a.places.iter().any(|p| p.stone.is_none()));
    }
}
