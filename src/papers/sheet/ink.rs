//! What a drawing is made of: lines, arrows and text on paper, in mm from the lower left corner, y up. The SVG and the
//! PDF are both written from this one list, so that they cannot disagree.

/// A point on the paper, mm.
pub type At = [f64; 2];

/// Kinds of line, after ISO 128-2: line group 0.35, narrow lines half as wide.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pen {
    /// Visible edges and outlines (01.2).
    Edge,
    /// Hidden edges (02.1).
    Hidden,
    /// Centre lines (04.1).
    Centre,
    /// Ends of a cutting plane (04.2).
    Cut,
    /// Dimensions, extension lines, hatching, tables (01.1).
    Thin,
    /// The frame of the sheet, ISO 5457.
    Frame,
}

impl Pen {
    /// Every kind.
    pub const ALL: [Self; 6] = [Self::Edge, Self::Hidden, Self::Centre, Self::Cut, Self::Thin, Self::Frame];
    /// Width, mm.
    #[must_use]
    pub const fn width(self) -> f64 {
        match self {
            Self::Edge | Self::Cut => 0.35,
            Self::Frame => 0.7,
            Self::Hidden | Self::Centre | Self::Thin => 0.18,
        }
    }
    /// Lengths of dashes and gaps, mm; none for an unbroken line. ISO 128-2 counts them in line widths.
    #[must_use]
    pub const fn dashes(self) -> &'static [f64] {
        match self {
            Self::Hidden => &[1.6, 0.6],
            Self::Centre => &[4.0, 0.6, 0.4, 0.6],
            _ => &[],
        }
    }
    /// Name in the SVG.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Edge => "edge",
            Self::Hidden => "hidden",
            Self::Centre => "centre",
            Self::Cut => "cut",
            Self::Thin => "thin",
            Self::Frame => "frame",
        }
    }
}

/// Where the given point of a text lies in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// At its start.
    Start,
    /// In its middle.
    Middle,
    /// At its end.
    End,
}

/// One line of text.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// On its baseline.
    pub at: At,
    /// Height of its capitals, mm (ISO 3098: 1.8, 2.5, 3.5).
    pub height: f64,
    /// Which point `at` is.
    pub anchor: Anchor,
    /// Reads upwards instead of to the right.
    pub upright: bool,
    /// Bold.
    pub bold: bool,
    /// What it says, in characters of [`super::font`].
    pub text: String,
    /// For a dimension: what is measured, such as `opening.width`.
    pub measures: Option<&'static str>,
}

/// A rectangle on the paper, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Lower left corner.
    pub lo: At,
    /// Upper right corner.
    pub hi: At,
}

impl Rect {
    /// From two corners.
    #[must_use]
    pub const fn new(lo: At, hi: At) -> Self {
        Self { lo, hi }
    }
    /// Size along x.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.hi[0] - self.lo[0]
    }
    /// Size along y.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.hi[1] - self.lo[1]
    }
    /// Whether both share more than a border.
    #[must_use]
    pub fn overlaps(&self, o: &Self) -> bool {
        (0..2).all(|k| self.lo[k] < o.hi[k] - 1e-9 && o.lo[k] < self.hi[k] - 1e-9)
    }
    /// Whether the other lies in it.
    #[must_use]
    pub fn holds(&self, o: &Self) -> bool {
        (0..2).all(|k| self.lo[k] <= o.lo[k] + 1e-9 && o.hi[k] <= self.hi[k] + 1e-9)
    }
    /// The smallest rectangle around both.
    #[must_use]
    pub fn with(&self, o: &Self) -> Self {
        let k = [0, 1];
        Self { lo: k.map(|k| self.lo[k].min(o.lo[k])), hi: k.map(|k| self.hi[k].max(o.hi[k])) }
    }
}

/// Room under the baseline and over the capitals, shares of the capital height.
const BELOW: f64 = 0.30;
const ABOVE: f64 = 1.06;

impl Text {
    /// Length of the line, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        super::font::width(&self.text, self.bold) * self.height
    }
    /// The rectangle the text takes.
    #[must_use]
    pub fn bounds(&self) -> Rect {
        let l = self.length();
        let from = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => -l / 2.0,
            Anchor::End => -l,
        };
        let (down, up) = (BELOW * self.height, ABOVE * self.height);
        let [x, y] = self.at;
        if self.upright {
            Rect::new([x - up, y + from], [x + down, y + from + l])
        } else {
            Rect::new([x + from, y - down], [x + from + l, y + up])
        }
    }
}

/// A drawing.
#[derive(Clone, Debug, Default)]
pub struct Drawing {
    /// Width and height of the paper, mm.
    pub size: At,
    /// Polylines.
    pub lines: Vec<(Pen, Vec<At>)>,
    /// Filled polygons: arrow heads, blocks of the ruler.
    pub fills: Vec<Vec<At>>,
    /// Text; what it covers is left white.
    pub texts: Vec<Text>,
    /// Title for readers of the file.
    pub title: String,
}

impl Drawing {
    /// Adds a straight line.
    pub fn line(&mut self, pen: Pen, a: At, b: At) {
        self.lines.push((pen, vec![a, b]));
    }
    /// Adds a rectangle.
    pub fn rect(&mut self, pen: Pen, r: Rect) {
        let [a, b] = [r.lo, r.hi];
        self.lines.push((pen, vec![a, [b[0], a[1]], b, [a[0], b[1]], a]));
    }
    /// Adds a circle.
    pub fn circle(&mut self, pen: Pen, c: At, r: f64) {
        let turn = |i: i32| {
            let a = f64::from(i) * std::f64::consts::TAU / 72.0;
            [c[0] + r * libm::cos(a), c[1] + r * libm::sin(a)]
        };
        self.lines.push((pen, (0..=72).map(turn).collect()));
    }
    /// Adds an arrow head with its tip at `at`, pointing along `to` (a unit vector): closed, 15 degrees each side after
    /// ISO 129-1, 2.2 mm long.
    pub fn arrow(&mut self, at: At, to: At) {
        const LONG: f64 = 2.2;
        const HALF: f64 = 0.4;
        let back = [at[0] - to[0] * LONG, at[1] - to[1] * LONG];
        let side = [-to[1] * HALF, to[0] * HALF];
        self.fills.push(vec![
            at,
            [back[0] + side[0], back[1] + side[1]],
            [back[0] - side[0], back[1] - side[1]],
        ]);
    }
    /// Adds text.
    pub fn text(&mut self, at: At, height: f64, anchor: Anchor, text: &str) {
        self.write(at, height, anchor, text, false);
    }
    /// Adds text set bold.
    pub fn bold(&mut self, at: At, height: f64, anchor: Anchor, text: &str) {
        self.write(at, height, anchor, text, true);
    }
    fn write(&mut self, at: At, height: f64, anchor: Anchor, text: &str, bold: bool) {
        let text = super::font::printable(text);
        if !text.is_empty() {
            self.texts.push(Text { at, height, anchor, upright: false, bold, text, measures: None });
        }
    }
    /// Adds text that is made smaller, down to 1.6 mm, and then cut short, so that it is no longer than `room`.
    pub fn fitted(&mut self, at: At, height: f64, room: f64, text: &str) {
        let mut t = super::font::printable(text);
        let long = super::font::width(&t, false);
        let height = height.min(room / long.max(1e-9)).max(1.6);
        while super::font::width(&t, false) * height > room && t.pop().is_some() {
            let kept = t.trim_end_matches('\u{2026}').chars().count();
            t = t.chars().take(kept.saturating_sub(1)).collect::<String>() + "\u{2026}";
        }
        self.text(at, height, Anchor::Start, &t);
    }
    /// Everything drawn, as one rectangle; `None` for an empty sheet.
    #[must_use]
    pub fn bounds(&self) -> Option<Rect> {
        let points = self.lines.iter().flat_map(|l| &l.1).chain(self.fills.iter().flatten());
        let dots = points.map(|p| Rect::new(*p, *p));
        dots.chain(self.texts.iter().map(Text::bounds)).reduce(|a, b| a.with(&b))
    }
}
