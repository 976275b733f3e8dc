//! One view with its dimensions, laid out around its own origin at a scale.

use super::ink::{Anchor, At, Drawing, Pen, Rect, Text};
use super::measure::{Along, Dimension, Side};
use super::project::Seen;
use super::section::{Cut, hatch};

/// A view before it has a scale and a place.
#[derive(Clone, Debug, Default)]
pub struct View {
    /// Stands under it.
    pub title: String,
    /// Edges.
    pub seen: Seen,
    /// Whether hidden edges are drawn.
    pub show_hidden: bool,
    /// The metal in the plane of a section.
    pub cut: Option<Cut>,
    /// Dimensions.
    pub dimensions: Vec<Dimension>,
    /// Centre lines: through x = 0 and through y = 0.
    pub centre: [bool; 2],
    /// Further places to mark with a centre cross, and their size.
    pub crosses: Vec<(At, f64)>,
    /// Letter of a cutting plane, whether it is upright on the paper, and the way one looks (1 up or right, -1).
    pub plane: Option<(char, bool, f64)>,
    /// Where that plane stands, along the paper at scale 1.
    pub plane_at: f64,
    /// Circles around what is enlarged elsewhere: middle, radius, letter.
    pub details: Vec<(At, f64, char)>,
    /// For an enlarged detail: the circle that is shown.
    pub window: Option<(At, f64)>,
}

/// Heights of capitals, mm, after ISO 3098-1.
pub const TEXT: f64 = 2.5;
const TITLE: f64 = 2.5;
/// First dimension line from the view, and from line to line, mm.
const FIRST: f64 = 5.6;
const STEP: f64 = 5.2;
/// Room between a dimension line and its text.
const LIFT: f64 = 1.0;
/// Extension lines start this far from the edge and end this far beyond the dimension line (ISO 129-1).
const GAP: f64 = 0.6;
const BEYOND: f64 = 1.4;
/// Room that two texts on one line keep between them.
const APART: f64 = 2.0;
/// Room beside a view for the ends of a cutting plane.
const PLANE: f64 = 8.4;
/// Dimension lines on one side at most.
const MOST_LINES: usize = 12;
/// Where a text stands on its line.
#[derive(Clone, Copy, Debug)]
enum Spot {
    Between,
    After,
    Before,
}
/// Distance of hatching lines, mm.
const HATCH: f64 = 1.1;

impl View {
    /// The drawn outline at scale 1, without dimensions.
    #[must_use]
    pub fn outline(&self) -> Option<Rect> {
        if let Some((c, r)) = self.window {
            return Some(Rect::new([c[0] - r, c[1] - r], [c[0] + r, c[1] + r]));
        }
        let cut = self.cut.iter().flat_map(|c| &c.loops);
        let points = self.seen.visible.iter().chain(cut).flatten();
        points.map(|p| Rect::new(*p, *p)).reduce(|a, b| a.with(&b))
    }

    /// Draws the view with its origin at a place of the paper.
    pub fn draw(&self, sheet: &mut Drawing, origin: At, scale: f64) {
        let d = &mut Drawing::default();
        let Some(outline) = self.outline() else { return };
        let to = |p: &At| [origin[0] + p[0] * scale, origin[1] + p[1] * scale];
        let frame = Rect::new(to(&outline.lo), to(&outline.hi));
        let first_fill = d.lines.len();
        for line in &self.seen.visible {
            d.lines.push((Pen::Edge, thinned(line.iter().map(to).collect())));
        }
        if self.show_hidden {
            for line in &self.seen.hidden {
                d.lines.push((Pen::Hidden, thinned(line.iter().map(to).collect())));
            }
        }
        if let Some(cut) = &self.cut {
            let loops: Vec<Vec<At>> = cut.loops.iter().map(|l| l.iter().map(to).collect()).collect();
            for h in hatch(&loops, HATCH) {
                d.line(Pen::Thin, h[0], h[1]);
            }
            for l in loops {
                d.lines.push((Pen::Edge, thinned(l)));
            }
        }
        if let Some((c, r)) = self.window {
            let c = to(&c);
            let drawn = d.lines.split_off(first_fill);
            for (pen, line) in drawn {
                for piece in clipped(&line, c, r * scale) {
                    d.lines.push((pen, piece));
                }
            }
            d.circle(Pen::Thin, c, r * scale);
        }
        self.centres(d, &to, &frame);
        for (c, r, letter) in &self.details {
            let c = to(c);
            d.circle(Pen::Thin, c, r * scale);
            let at = [frame.hi[0].max(c[0] + r * scale) + 1.2, c[1] - TEXT / 2.0];
            d.bold(at, TEXT, Anchor::Start, &letter.to_string());
        }
        let marked = self.plane.map(|p| p.1);
        let upright = self.plane.is_some_and(|p| p.1);
        let (x, y) = if upright { (self.plane_at, 0.0) } else { (0.0, self.plane_at) };
        self.plane_marks(d, to(&[x, y]), &frame);
        for side in [Side::Top, Side::Bottom, Side::Left, Side::Right] {
            let beside_mark = marked == Some(side.along() == Along::Level);
            let lift = if beside_mark { PLANE } else { FIRST };
            self.dimensions_on(d, side, &to, &frame, lift);
        }
        if let Some(b) = d.bounds() {
            let at = [f64::midpoint(frame.lo[0], frame.hi[0]), b.lo[1] - TITLE - 1.6];
            d.bold(at, TITLE, Anchor::Middle, &self.title);
        }
        sheet.lines.append(&mut d.lines);
        sheet.fills.append(&mut d.fills);
        sheet.texts.append(&mut d.texts);
    }

    fn centres(&self, d: &mut Drawing, to: &impl Fn(&At) -> At, frame: &Rect) {
        const OVER: f64 = 2.5;
        let o = to(&[0.0, 0.0]);
        if self.centre[0] {
            d.line(Pen::Centre, [o[0], frame.lo[1] - OVER], [o[0], frame.hi[1] + OVER]);
        }
        if self.centre[1] {
            d.line(Pen::Centre, [frame.lo[0] - OVER, o[1]], [frame.hi[0] + OVER, o[1]]);
        }
        for (c, r) in &self.crosses {
            let (a, b) = (to(&[c[0] - r, c[1] - r]), to(&[c[0] + r, c[1] + r]));
            let m = to(c);
            d.line(Pen::Centre, [a[0], m[1]], [b[0], m[1]]);
            d.line(Pen::Centre, [m[0], a[1]], [m[0], b[1]]);
        }
    }

    fn plane_marks(&self, d: &mut Drawing, o: At, frame: &Rect) {
        let Some((letter, upright, way)) = self.plane else { return };
        let letter = letter.to_string();
        for end in [-1.0, 1.0] {
            if upright {
                let edge = if end > 0.0 { frame.hi[1] } else { frame.lo[1] };
                let (near, far) = (edge + end * 1.2, edge + end * 3.6);
                d.line(Pen::Cut, [o[0], near], [o[0], far]);
                d.line(Pen::Thin, [o[0] - way * 5.0, far], [o[0], far]);
                d.arrow([o[0], far], [way, 0.0]);
                let anchor = if way > 0.0 { Anchor::End } else { Anchor::Start };
                let base = if end > 0.0 { far - TEXT } else { far };
                d.bold([o[0] - way * 5.8, base], TEXT, anchor, &letter);
            } else {
                let edge = if end > 0.0 { frame.hi[0] } else { frame.lo[0] };
                let (near, far) = (edge + end * 1.2, edge + end * 3.6);
                d.line(Pen::Cut, [near, o[1]], [far, o[1]]);
                d.line(Pen::Thin, [far, o[1] - way * 5.0], [far, o[1]]);
                d.arrow([far, o[1]], [0.0, way]);
                let y = if way > 0.0 { o[1] - 5.8 - TEXT } else { o[1] + 5.8 };
                d.bold([far, y], TEXT, Anchor::Middle, &letter);
            }
        }
    }

    /// Lines of dimensions on one side, short ones nearest, each on the first line where it has room.
    fn dimensions_on(&self, d: &mut Drawing, side: Side, to: &impl Fn(&At) -> At, frame: &Rect, lift: f64) {
        let upright = side.along() == Along::Upright;
        let k = usize::from(upright);
        let mut mine: Vec<&Dimension> = self.dimensions.iter().filter(|x| x.side == side).collect();
        mine.sort_by(|a, b| a.value().total_cmp(&b.value()));
        let mut taken: Vec<(usize, [f64; 2])> = Vec::new();
        for x in mine {
            let (p, q) = (to(&x.from), to(&x.to));
            let (lo, hi) = if p[k] <= q[k] { (p, q) } else { (q, p) };
            let (a, b) = (lo[k], hi[k]);
            let text = x.text();
            let long = super::font::width(&text, false) * TEXT;
            // Arrows inside where there is room for them, else outside; text beyond the end where it does not fit.
            let outside = b - a < 6.0;
            let fits = long + 1.0 <= b - a;
            let (edge, way) = match side {
                Side::Top => (frame.hi[1], 1.0),
                Side::Bottom => (frame.lo[1], -1.0),
                Side::Left => (frame.lo[0], -1.0),
                Side::Right => (frame.hi[0], 1.0),
            };
            let place = |along: f64, across: f64| if upright { [across, along] } else { [along, across] };
            // The first line and the first place on it where the text meets no other: between the arrows where it fits,
            // else beyond the end that has more of the view beside it, else beyond the other end.
            // A tie must not be decided by the rounding of where the view stands.
            let after_first = frame.hi[k] - b >= a - frame.lo[k] - 1e-6;
            let spots: &[Spot] = if fits {
                &[Spot::Between]
            } else if after_first {
                &[Spot::After, Spot::Before]
            } else {
                &[Spot::Before, Spot::After]
            };
            let mut chosen = None;
            for level in 0..MOST_LINES {
                for spot in spots {
                    let tails = if outside { 4.6 } else { 0.0 };
                    let (start, reach) = match spot {
                        Spot::Between => (f64::midpoint(a, b) - long / 2.0, [a - tails, b + tails]),
                        Spot::After => (b + 4.6, [a - 4.6, b + 5.6 + long]),
                        Spot::Before => (a - 4.6 - long, [a - 5.6 - long, b + 4.6]),
                    };
                    #[allow(clippy::cast_precision_loss)]
                    let at = edge + way * (lift + STEP * level as f64);
                    // Text stands over a level line and left of an upright one.
                    let on = if upright { [at - LIFT, start] } else { [start, at + LIFT] };
                    let text = Text {
                        at: on,
                        height: TEXT,
                        anchor: Anchor::Start,
                        upright,
                        bold: false,
                        text: text.clone(),
                        measures: Some(x.measures),
                    };
                    let apart = |t: &[f64; 2]| reach[1] + APART <= t[0] || t[1] + APART <= reach[0];
                    let free = taken.iter().filter(|t| t.0 == level).all(|t| apart(&t.1));
                    if free && d.texts.iter().all(|t| !t.bounds().overlaps(&text.bounds())) {
                        chosen = Some((level, *spot, start, reach, at, text));
                        break;
                    }
                }
                if chosen.is_some() {
                    break;
                }
            }
            // So many lines are never needed by the few dimensions of a view.
            let Some((level, spot, start, reach, at, text)) = chosen else { continue };
            taken.push((level, reach));
            for end in [lo, hi] {
                d.line(Pen::Thin, place(end[k], end[1 - k] + way * GAP), place(end[k], at + way * BEYOND));
            }
            let (from, to) = match spot {
                Spot::Between if outside => (a - 4.4, b + 4.4),
                Spot::Between => (a, b),
                Spot::After => (a - 4.4, start + long),
                Spot::Before => (start, b + 4.4),
            };
            d.line(Pen::Thin, place(from, at), place(to, at));
            let turn = if outside { -1.0 } else { 1.0 };
            d.arrow(place(a, at), place(-turn, 0.0));
            d.arrow(place(b, at), place(turn, 0.0));
            d.texts.push(text);
        }
    }

    /// Everything the view takes on paper around its origin.
    #[must_use]
    pub fn bounds(&self, scale: f64) -> Option<Rect> {
        let mut d = Drawing::default();
        self.draw(&mut d, [0.0, 0.0], scale);
        d.bounds()
    }
}

/// A polyline without the points that lie within a hundredth of a millimetre of their neighbours' chord.
fn thinned(line: Vec<At>) -> Vec<At> {
    const NEAR: f64 = 0.008;
    if line.len() < 3 {
        return line;
    }
    let mut keep = vec![false; line.len()];
    let last = line.len() - 1;
    (keep[0], keep[last]) = (true, true);
    let mut todo = vec![(0, last)];
    while let Some((a, b)) = todo.pop() {
        let far =
            (a + 1..b).map(|i| (i, off_chord(line[i], line[a], line[b]))).max_by(|x, y| x.1.total_cmp(&y.1));
        if let Some((i, off)) = far
            && off > NEAR
        {
            keep[i] = true;
            todo.extend([(a, i), (i, b)]);
        }
    }
    line.iter().zip(keep).filter(|(_, k)| *k).map(|(p, _)| *p).collect()
}

fn off_chord(p: At, a: At, b: At) -> f64 {
    let d = [b[0] - a[0], b[1] - a[1]];
    let l2 = d[0] * d[0] + d[1] * d[1];
    let t = if l2 > 0.0 { (((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / l2).clamp(0.0, 1.0) } else { 0.0 };
    libm::hypot(a[0] + t * d[0] - p[0], a[1] + t * d[1] - p[1])
}

/// The parts of a polyline inside a circle.
fn clipped(line: &[At], c: At, r: f64) -> Vec<Vec<At>> {
    let mut out: Vec<Vec<At>> = Vec::new();
    let mut open = false;
    for w in line.windows(2) {
        let (a, b) = (w[0], w[1]);
        let d = [b[0] - a[0], b[1] - a[1]];
        let f = [a[0] - c[0], a[1] - c[1]];
        let (qa, qb) = (d[0] * d[0] + d[1] * d[1], f[0] * d[0] + f[1] * d[1]);
        let root = qb * qb - qa * (f[0] * f[0] + f[1] * f[1] - r * r);
        if qa <= 0.0 || root <= 0.0 {
            open = false;
            continue;
        }
        let s = root.sqrt();
        let (t0, t1) = (((-qb - s) / qa).max(0.0), ((-qb + s) / qa).min(1.0));
        if t0 >= t1 {
            open = false;
            continue;
        }
        let at = |t: f64| [a[0] + d[0] * t, a[1] + d[1] * t];
        match out.last_mut() {
            Some(l) if open && t0 == 0.0 => l.push(at(t1)),
            _ => out.push(vec![at(t0), at(t1)]),
        }
        open = t1 == 1.0;
    }
    out
}
