//! From caliper readings of the gauge to the printer's own errors: y = k x + c for each axis, holes apart.
//!
//! Least squares with intervals of 95 %: k +- t s/sqrt(Sxx), c +- t s sqrt(1/N + mean(x)^2/Sxx), s^2 = sum of squared residuals
//! over N - 2 (NIST/SEMATECH e-Handbook of Statistical Methods, 4.1.4.1). A reading whose studentised residual is beyond what one in
//! twenty such sets holds (Bonferroni) is a blunder and left out; at most one in five. An interval of k that holds 1 means: do not
//! scale; one of c that holds 0: do not offset.

use super::student::two_sided;
use serde::Serialize;
use thiserror::Error;

/// Fewest readings of an axis, and least range of their sizes, mm: below that the slope means nothing.
const FEWEST: usize = 6;
const LEAST_RANGE: f64 = 10.0;
/// Fewest readings of holes; their offset alone is asked for.
const FEWEST_HOLES: usize = 4;
/// Confidence of every interval.
const CONFIDENCE: f64 = 0.95;
/// Largest file taken.
pub const LARGEST: u64 = 200_000;
/// Problems listed for one file; a file with more holds no readings.
const MOST_PROBLEMS: usize = 100;

/// What was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// Outside sizes along x.
    X,
    /// Outside sizes along y.
    Y,
    /// Outside sizes upwards.
    Z,
    /// Round holes.
    Hole,
}

/// One reading, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Line of the file.
    pub line: usize,
    /// What.
    pub what: What,
    /// Size in the file that was printed.
    pub nominal: f64,
    /// Size the caliper shows.
    pub measured: f64,
}

/// A value with half its interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Interval {
    /// Best value.
    pub value: f64,
    /// Half width, 95 %.
    pub half: f64,
}

impl Interval {
    /// Whether it holds a value.
    #[must_use]
    pub fn holds(&self, x: f64) -> bool {
        (self.value - x).abs() <= self.half
    }
}

/// The line of one axis.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// Which.
    pub what: What,
    /// Readings used.
    pub used: usize,
    /// Scale.
    pub scale: Interval,
    /// Offset, mm.
    pub offset: Interval,
    /// Scatter of a reading, mm.
    pub scatter: f64,
    /// Lines of the file left out as blunders.
    pub left_out: Vec<usize>,
}

/// Why readings cannot be used.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum ReadingError {
    /// A line that is no reading.
    #[error(
        "line {line}: {why}. A line is: x, y, z or hole; size in the file; size measured, such as x, 5.0, 4.97"
    )]
    Line {
        /// Which.
        line: usize,
        /// What is wrong.
        why: String,
    },
    /// Sizes without a reading.
    #[error(
        "{}: write the size measured behind the last comma, or take the line out where a size did not come out. Lines {}",
        if *.some { "some sizes have no reading yet" } else { "no size has a reading yet" },
        stretches(.lines)
    )]
    Empty {
        /// Their lines.
        lines: Vec<usize>,
        /// Whether other sizes have one.
        some: bool,
    },
    /// Inches.
    #[error(
        "{}: the readings look like inches (about 1/25.4 of the sizes). Set the caliper to millimetres, or multiply by 25.4",
        .axes.join(", ")
    )]
    Inches {
        /// Which axes.
        axes: Vec<&'static str>,
    },
    /// Too few.
    #[error("{what}: {count} readings; at least {least} are needed{more}")]
    Few {
        /// Of what.
        what: &'static str,
        /// How many there are.
        count: usize,
        /// How many are needed.
        least: usize,
        /// What else.
        more: &'static str,
    },
    /// Too alike.
    #[error("{what}: the sizes span {range:.1} mm; at least 10 mm are needed to tell a scale from an offset")]
    Range {
        /// Of what.
        what: &'static str,
        /// Their range.
        range: f64,
    },
}

impl What {
    fn of(word: &str) -> Option<Self> {
        match word.to_ascii_lowercase().as_str() {
            "x" => Some(Self::X),
            "y" => Some(Self::Y),
            "z" => Some(Self::Z),
            "hole" => Some(Self::Hole),
            _ => None,
        }
    }
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::X => "outside along x",
            Self::Y => "outside along y",
            Self::Z => "outside upwards, z",
            Self::Hole => "round holes",
        }
    }
}

/// Lines in short: 4-6, 9.
fn stretches(lines: &[usize]) -> String {
    let mut out: Vec<[usize; 2]> = Vec::new();
    for &n in lines {
        match out.last_mut() {
            Some(last) if last[1] + 1 == n => last[1] = n,
            _ => out.push([n, n]),
        }
    }
    let word = |[a, b]: &[usize; 2]| if a == b { a.to_string() } else { format!("{a}-{b}") };
    out.iter().map(word).collect::<Vec<_>>().join(", ")
}

/// Reads lines of three values separated by commas, semicolons or tabs; a heading, empty lines and lines that begin with # are passed over.
///
/// # Errors
/// Every line that is no reading.
pub fn read(text: &str) -> Result<Vec<Reading>, Vec<ReadingError>> {
    let (mut out, mut bad, mut empty) = (Vec::new(), Vec::new(), Vec::new());
    for (i, raw) in text.trim_start_matches('\u{feff}').lines().enumerate() {
        let line = i + 1;
        let raw = raw.trim();
        if raw.is_empty() || raw.starts_with('#') {
            continue;
        }
        let fields: Vec<&str> = raw.split([',', ';', '\t']).map(str::trim).collect();
        let number = |s: &str| s.parse::<f64>().ok().filter(|v| v.is_finite() && *v > 0.0 && *v < 1000.0);
        let read = match fields.as_slice() {
            [what, nominal, ""] if What::of(what).is_some() && number(nominal).is_some() => {
                empty.push(line);
                continue;
            }
            [what, nominal, measured] => match (What::of(what), number(nominal), number(measured)) {
                (Some(what), Some(nominal), Some(measured)) => Ok(Reading { line, what, nominal, measured }),
                (None, ..) if out.is_empty() && bad.is_empty() && number(nominal).is_none() => continue,
                (None, ..) => Err(format!("{what:?} is none of x, y, z, hole")),
                (_, None, _) => Err(format!("{nominal:?} is no size in millimetres, with a decimal point")),
                (.., None) => Err(format!("{measured:?} is no size in millimetres, with a decimal point")),
            },
            other => Err(format!("{} values instead of 3", other.len())),
        };
        match read {
            Ok(r) => out.push(r),
            Err(why) => bad.push(ReadingError::Line { line, why }),
        }
    }
    if !empty.is_empty() {
        bad.push(ReadingError::Empty { lines: empty, some: !out.is_empty() });
    }
    bad.truncate(MOST_PROBLEMS);
    if bad.is_empty() { Ok(out) } else { Err(bad) }
}

/// The lines of all axes, and of the holes where there are any.
///
/// # Errors
/// Everything that keeps the readings from being used.
pub fn lines(readings: &[Reading]) -> Result<Vec<Line>, Vec<ReadingError>> {
    let axes = [What::X, What::Y, What::Z, What::Hole];
    let inches: Vec<&'static str> =
        axes.into_iter().filter(|w| inches(*w, readings)).map(What::words).collect();
    if !inches.is_empty() {
        return Err(vec![ReadingError::Inches { axes: inches }]);
    }
    let (mut out, mut bad) = (Vec::new(), Vec::new());
    for what in axes {
        let own: Vec<Reading> = readings.iter().filter(|r| r.what == what).copied().collect();
        if what == What::Hole && own.is_empty() {
            continue;
        }
        match line(what, &own) {
            Ok(l) => out.push(l),
            Err(e) => bad.push(e),
        }
    }
    if bad.is_empty() { Ok(out) } else { Err(bad) }
}

/// Whether the middle one of the readings, set against its size, is an inch to the millimetre.
fn inches(what: What, readings: &[Reading]) -> bool {
    let own = readings.iter().filter(|r| r.what == what);
    let mut ratios: Vec<f64> = own.map(|r| r.measured / r.nominal).collect();
    ratios.sort_by(f64::total_cmp);
    ratios.get(ratios.len() / 2).is_some_and(|m| (m * 25.4 - 1.0).abs() < 0.2)
}

fn line(what: What, readings: &[Reading]) -> Result<Line, ReadingError> {
    let hole = what == What::Hole;
    let least = if hole { FEWEST_HOLES } else { FEWEST };
    let few = |count| {
        let more = if count == 0 { ": measure this axis too" } else { "" };
        Err(ReadingError::Few { what: what.words(), count, least, more })
    };
    if readings.len() < least {
        return few(readings.len());
    }
    let range = |r: &[Reading]| {
        let (low, high) =
            r.iter().fold((f64::MAX, f64::MIN), |(l, h), r| (l.min(r.nominal), h.max(r.nominal)));
        high - low
    };
    let mut kept = readings.to_vec();
    let mut left_out = Vec::new();
    let most = readings.len() / 5;
    loop {
        if kept.len() < least {
            return few(kept.len());
        }
        if !hole && range(&kept) < LEAST_RANGE {
            return Err(ReadingError::Range { what: what.words(), range: range(&kept) });
        }
        let fit = Fit::of(&kept);
        if left_out.len() < most
            && let Some(worst) = fit.blunder(&kept)
        {
            left_out.push(kept.remove(worst).line);
            continue;
        }
        left_out.sort_unstable();
        return Ok(fit.line(what, left_out));
    }
}

/// Least squares over some readings.
struct Fit {
    n: f64,
    mean: f64,
    sxx: f64,
    k: f64,
    c: f64,
    s: f64,
}

impl Fit {
    #[allow(clippy::cast_precision_loss)] // a few dozen readings
    fn of(r: &[Reading]) -> Self {
        let n = r.len() as f64;
        let mean = r.iter().map(|r| r.nominal).sum::<f64>() / n;
        let high = r.iter().map(|r| r.measured).sum::<f64>() / n;
        let sxx: f64 = r.iter().map(|r| (r.nominal - mean) * (r.nominal - mean)).sum();
        let sxy: f64 = r.iter().map(|r| (r.nominal - mean) * (r.measured - high)).sum();
        let k = if sxx > 0.0 { sxy / sxx } else { 1.0 };
        let c = high - k * mean;
        let rest: f64 = r.iter().map(|r| r.measured - k * r.nominal - c).map(|e| e * e).sum();
        Self { n, mean, sxx, k, c, s: (rest / (n - 2.0)).sqrt() }
    }
    /// The reading farthest off, if it is farther than chance explains: its residual over its own scatter, estimated without
    /// it, against t at 5 % shared by all readings.
    fn blunder(&self, r: &[Reading]) -> Option<usize> {
        let free = self.n - 3.0;
        if free < 1.0 || self.s <= 0.0 || self.sxx <= 0.0 {
            return None;
        }
        let limit = two_sided(1.0 - 0.05 / self.n, free);
        let mut worst: Option<(usize, f64)> = None;
        for (i, r) in r.iter().enumerate() {
            let e = r.measured - self.k * r.nominal - self.c;
            let h = 1.0 / self.n + (r.nominal - self.mean) * (r.nominal - self.mean) / self.sxx;
            let without = (self.s * self.s * (self.n - 2.0) - e * e / (1.0 - h)) / free;
            // Without it nothing is left over: every other reading lies on one line.
            let off = if without > 0.0 { e.abs() / (without * (1.0 - h)).sqrt() } else { f64::INFINITY };
            // A caliper shows hundredths: less than two of them is no blunder.
            if off > limit && e.abs() > 0.02 && worst.is_none_or(|w| off > w.1) {
                worst = Some((i, off));
            }
        }
        worst.map(|w| w.0)
    }
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn line(&self, what: What, left_out: Vec<usize>) -> Line {
        let t = two_sided(CONFIDENCE, self.n - 2.0);
        let half = |v: f64| if self.sxx > 0.0 { t * self.s * v.sqrt() } else { f64::INFINITY };
        Line {
            what,
            used: self.n as usize,
            scale: Interval { value: self.k, half: half(1.0 / self.sxx) },
            offset: Interval { value: self.c, half: half(1.0 / self.n + self.mean * self.mean / self.sxx) },
            scatter: self.s,
            left_out,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Steps of the gauge.
    const STEPS: [f64; 12] = [0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0];

    /// A seeded normal deviate: a linear congruential generator (Knuth, MMIX) and the sum of twelve.
    struct Noise(u64);
    impl Noise {
        fn next(&mut self) -> f64 {
            let mut u = || {
                self.0 =
                    self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                (self.0 >> 11) as f64 / (1_u64 << 53) as f64
            };
            (0..12).map(|_| u()).sum::<f64>() - 6.0
        }
    }

    fn readings(k: f64, c: f64, s: f64, noise: &mut Noise) -> Vec<Reading> {
        STEPS
            .iter()
            .enumerate()
            .map(|(i, &x)| Reading {
                line: i + 1,
                what: What::X,
                nominal: x,
                measured: k * x + c + s * noise.next(),
            })
            .collect()
    }

    /// Known scale and offset lie within the stated 95 % intervals in 95 of 100 sets; 4,000 sets tell 95 from 93.9 by three
    /// standard errors.
    #[test]
    fn intervals_hold_the_truth_at_their_rate() {
        let mut noise = Noise(7);
        let (mut k_in, mut c_in) = (0, 0);
        for i in 0..4000 {
            let (k, c) = (0.98 + 0.005 * f64::from(i % 9), -0.05 + 0.01 * f64::from(i % 11));
            let l = line(What::X, &readings(k, c, 0.012, &mut noise)).unwrap();
            k_in += i32::from(l.scale.holds(k));
            c_in += i32::from(l.offset.holds(c));
        }
        for held in [k_in, c_in] {
            let rate = f64::from(held) / 4000.0;
            assert!((0.935..=0.965).contains(&rate), "{rate}");
        }
    }

    #[test]
    fn a_blunder_is_left_out_and_named() {
        let mut noise = Noise(3);
        let mut r = readings(0.99, 0.02, 0.008, &mut noise);
        r[8].measured += 0.5;
        let l = line(What::X, &r).unwrap();
        assert_eq!(l.left_out, [9]);
        assert!(l.scale.holds(0.99) && l.offset.holds(0.02) && l.used == 11, "{l:?}");
    }

    #[test]
    fn what_cannot_be_used_is_told() {
        let inches: Vec<Reading> = readings(1.0 / 25.4, 0.0, 0.0, &mut Noise(1));
        assert_eq!(lines(&inches), Err(vec![ReadingError::Inches { axes: vec!["outside along x"] }]));
        let only_x = readings(1.0, 0.0, 0.01, &mut Noise(1));
        let told: Vec<String> = lines(&only_x).unwrap_err().iter().map(ToString::to_string).collect();
        assert_eq!(told.len(), 2);
        assert!(
            told[0].starts_with("outside along y: 0 readings; at least 6 are needed: measure this axis too"),
            "{told:?}"
        );
        let bad = read("axis,nominal,measured\nx, 5.0, 4,97\nw,1,1\ny;2.0;\n").unwrap_err();
        let told: Vec<String> = bad.iter().map(ToString::to_string).collect();
        assert!(
            told[0].contains("line 2: 4 values instead of 3")
                && told[1].contains("\"w\"")
                && told[2].starts_with("no size has a reading yet")
                && told[2].ends_with("Lines 4"),
            "{told:?}"
        );
        assert_eq!(stretches(&[4, 5, 6, 9, 11, 12]), "4-6, 9, 11-12");
        assert_eq!(read("# by hand\nx\t5.0\t4.97\nhole; 0.5; 0.44").unwrap().len(), 2);
    }
}
