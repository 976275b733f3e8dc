//! How the bracelet moves, in `report.json` and on the screen: joint and clasp, or why they were not measured.

use crate::motion::{
    ClaspMotion, JointMotion, MeasureError, Measured, MotionError, MotionFinding, measure, measure_clasp,
    movers,
};
use crate::params::{Design, Key};
use crate::parts::link::Built;
use crate::units::Mm;
use crate::walls::Judgement;
use serde::Serialize;

/// What stands where nothing was measured.
pub const NOT_MEASURED: &str = "not measured: run colletline motion";

/// Section `motion` of the report.
#[derive(Clone, Debug, Serialize)]
pub struct MotionReport {
    /// The whole in one word, over the findings that bind; unverified where nothing was measured.
    pub verdict: Judgement,
    /// What was not measured, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not_measured: Vec<String>,
    /// The joint between two links.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub joint: Option<JointMotion>,
    /// The folding clasp.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clasp: Option<ClaspMotion>,
    /// What binds before anything moves.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub binds: Vec<MotionFinding>,
}

impl MotionReport {
    /// Of a run that measured nothing.
    #[must_use]
    pub fn none() -> Self {
        Self {
            verdict: Judgement::Unverified,
            not_measured: vec![NOT_MEASURED.to_owned()],
            joint: None,
            clasp: None,
            binds: Vec::new(),
        }
    }

    /// Measures joint and clasp; gives the joint's bodies too, for pictures.
    ///
    /// # Errors
    /// In bench words: a part could not be built or meshed.
    pub fn measured(design: &Design, link: &Built) -> Result<(Self, Option<Measured>), String> {
        let mut out = Self { verdict: Judgement::Pass, not_measured: Vec::new(), ..Self::none() };
        let joint = match measure(design, link) {
            Ok(m) => Some(m),
            Err(MeasureError::NoJoint) => {
                out.not_measured.push(MeasureError::NoJoint.to_string());
                None
            }
            Err(MeasureError::Motion(MotionError::Binds(between))) => {
                out.not_measured.push("the joint binds at rest".into());
                out.binds.push(MotionFinding {
                    rule: "joint.free",
                    binds: true,
                    verdict: Judgement::Fail,
                    says: format!(
                        "the joint binds at rest: {} and {} touch or nearly touch",
                        between[0], between[1]
                    ),
                    source: "measured on the solids",
                    parameters: movers(&between),
                });
                None
            }
            Err(e) => return Err(e.to_string()),
        };
        out.joint = joint.as_ref().map(|m| m.report.clone());
        let larger = Mm(design.get(Key::StoneTolerance));
        out.clasp = measure_clasp(design, larger).map_err(|e| e.to_string())?;
        if out.clasp.is_none() {
            out.not_measured.push("the clasp is a bought one".into());
        }
        out.verdict = judged(out.findings());
        Ok((out, joint))
    }

    /// Every finding: what binds at rest, the joint's, the clasp's.
    pub fn findings(&self) -> impl Iterator<Item = &MotionFinding> {
        let joint = self.joint.iter().flat_map(|j| &j.findings);
        self.binds.iter().chain(joint).chain(self.clasp.iter().flat_map(|c| &c.findings))
    }
}

/// The word over the findings that bind.
fn judged<'a>(findings: impl Iterator<Item = &'a MotionFinding>) -> Judgement {
    findings.filter(|f| f.binds).fold(Judgement::Pass, |all, f| match (all, f.verdict) {
        (Judgement::Fail, _) | (_, Judgement::Fail) => Judgement::Fail,
        (Judgement::Unverified, _) | (_, Judgement::Unverified) => Judgement::Unverified,
        _ => Judgement::Pass,
    })
}
