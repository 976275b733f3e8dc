//! Who allows for shrink, and by how much the master is enlarged for it.
//!
//! A stage that shrinks by s is allowed for by 1/(1 - s), never by 1 + s. Nothing is assumed: a stage of which the file
//! does not say who allows for it leaves the whole master in finished size with its allowances, and says so.

use super::judged::process;
use crate::params::{Design, Key};
use serde::Serialize;

/// Who allows for a stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum By {
    /// The file does not say.
    NotStated,
    /// These files.
    Us,
    /// Whoever makes the next step.
    Them,
}

/// One stage.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Stage {
    /// `metal` or `pattern`.
    pub stage: &'static str,
    /// Who allows for it.
    pub by: By,
    /// Linear shrink along x, y, z in per cent; none where the file does not give it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shrink_percent: Option<[f64; 3]>,
    /// In words, for the sheet.
    pub words: String,
}

/// Both stages and what follows from them.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Compensation {
    /// Whether every stage is stated; if not, nothing is enlarged.
    pub stated: bool,
    /// What the master is enlarged by along x, y, z.
    pub factors: [f64; 3],
    /// The stages, metal first.
    pub stages: Vec<Stage>,
    /// What is missing from the file, with the parameter.
    pub missing: Vec<String>,
}

impl Compensation {
    /// That of a design.
    #[must_use]
    pub fn of(d: &Design) -> Self {
        let by = |k: Key| match d.word(k) {
            0 => By::NotStated,
            1 => By::Us,
            _ => By::Them,
        };
        let metal = d.is_given(Key::MetalShrink).then(|| [d.get(Key::MetalShrink); 3]);
        let axes = [Key::PatternShrinkX, Key::PatternShrinkY, Key::PatternShrinkZ];
        let given = d.is_given(Key::PatternShrink) || axes.iter().all(|k| d.is_given(*k));
        let pattern = given.then(|| axes.map(|k| d.get(k)));
        let mut stages = vec![stage("pattern", by(Key::PatternBy), pattern, "the printer")];
        // What is printed in metal shrinks once.
        if process(d).cast {
            stages.insert(0, stage("metal", by(Key::MetalBy), metal, "the caster"));
        }
        let mut missing = Vec::new();
        for s in &stages {
            if s.by == By::NotStated {
                missing.push(format!("master.{}.compensated_by", s.stage));
            } else if s.by == By::Us && s.shrink_percent.is_none() {
                missing.push(format!("master.{}.shrink", s.stage));
            }
        }
        let stated = missing.is_empty();
        let mut factors = [1.0; 3];
        if stated {
            for s in stages.iter().filter(|s| s.by == By::Us) {
                let shrink = s.shrink_percent.unwrap_or_default();
                factors.iter_mut().zip(shrink).for_each(|(f, s)| *f /= 1.0 - s / 100.0);
            }
        }
        Self { stated, factors, stages, missing }
    }

    /// Whether all axes are enlarged alike, so that the master stays an exact solid.
    #[must_use]
    pub fn alike(&self) -> bool {
        let [x, y, z] = self.factors;
        x.to_bits() == y.to_bits() && y.to_bits() == z.to_bits()
    }
    /// What goes into the names of files: empty, or a warning.
    #[must_use]
    pub fn mark(&self) -> &'static str {
        if self.stated { "" } else { ".not-compensated" }
    }
    /// The state in one line.
    #[must_use]
    pub fn words(&self) -> String {
        let [x, y, z] = self.factors;
        if !self.stated {
            "NOT COMPENSATED: finished size and polish allowance, no shrink; the file does not say who allows for it"
                .to_owned()
        } else if self.alike() {
            format!("enlarged by {x:.5} in all directions")
        } else {
            format!(
                "enlarged by {x:.5} along x, {y:.5} along y, {z:.5} upwards: print it as it lies in the file"
            )
        }
    }
}

fn stage(stage: &'static str, by: By, shrink: Option<[f64; 3]>, them: &str) -> Stage {
    let size = match shrink {
        None => "shrink not given".to_owned(),
        Some([x, y, z]) if x.to_bits() == y.to_bits() && y.to_bits() == z.to_bits() => {
            format!("shrink {x} %")
        }
        Some([x, y, z]) => format!("shrink {x} % along x, {y} % along y, {z} % upwards"),
    };
    let words = match by {
        By::NotStated => format!("{stage}: {size}; who allows for it is NOT STATED"),
        By::Us => format!("{stage}: {size}, allowed for in these files"),
        By::Them => format!("{stage}: {size}; NOT in these files, {them} allows for it"),
    };
    Stage { stage, by, shrink_percent: shrink, words }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::read;

    fn of(master: &str) -> Compensation {
        let text = format!(
            r#"{{"metal": {{"alloy": "silver925"}}, "stone": {{"diameter": 3.0}}, "wearer": {{"wrist": 165}}, "master": {{{master}}}}}"#
        );
        Compensation::of(&read(&text).unwrap_or_else(|p| panic!("{p:?}")))
    }

    #[test]
    fn nothing_said_is_nothing_enlarged() {
        let c = of("");
        assert!(!c.stated && c.alike() && c.factors[0].to_bits() == 1.0_f64.to_bits());
        assert_eq!(c.missing, ["master.metal.compensated_by", "master.pattern.compensated_by"]);
        assert_eq!(c.mark(), ".not-compensated");
        // One stage alone is not enough, nor a promise without a number.
        let c =
            of(r#""metal": {"shrink": 1.5, "compensated_by": "us"}, "pattern": {"compensated_by": "us"}"#);
        assert_eq!(c.missing, ["master.pattern.shrink"]);
        assert!((c.factors[0] - 1.0).abs() < 1e-15);
    }

    #[test]
    fn what_is_printed_in_metal_shrinks_once() {
        let c = of(r#""process": "direct_metal", "pattern": {"shrink": 0.5, "compensated_by": "us"}"#);
        assert!(c.stated && c.stages.len() == 1 && (c.factors[0] - 1.0 / 0.995).abs() < 1e-12, "{c:?}");
        let text = r#"{"metal": {"alloy": "silver925"}, "stone": {"diameter": 3.0}, "wearer": {"wrist": 165},
            "master": {"process": "direct_metal", "metal": {"shrink": 1.5, "compensated_by": "us"}}}"#;
        let told = read(text).map(|_| ()).unwrap_err();
        assert!(told.iter().any(|p| p.code == "key.no_part" && p.path == "master.metal.shrink"), "{told:?}");
    }

    /// Factors for shrink: caster's guide, 1.8 % is compensated by 1.018 (vectrixcasting.com, resin shrinkage); exactly
    /// 1/(1 - 0.018) = 1.01833.
    #[test]
    fn shrink_is_divided_out_for_what_is_ours_alone() {
        let both = r#""metal": {"shrink": 1.8, "compensated_by": "us"}, "pattern": {"shrink": 1.8, "compensated_by": "us"}"#;
        assert!((of(both).factors[2] - 1.036_995_9).abs() < 1e-7);
        let caster =
            r#""metal": {"compensated_by": "caster"}, "pattern": {"shrink": 1.8, "compensated_by": "us"}"#;
        let c = of(caster);
        assert!(c.stated && (c.factors[0] - 1.018_329_94).abs() < 1e-8);
        let axes = r#""metal": {"compensated_by": "caster"}, "pattern": {"shrink": 1.0, "shrink_z": 0.4, "compensated_by": "us"}"#;
        let c = of(axes);
        assert!(
            !c.alike()
                && (c.factors[0] - 1.0 / 0.99).abs() < 1e-12
                && (c.factors[2] - 1.0 / 0.996).abs() < 1e-12
        );
    }
}
