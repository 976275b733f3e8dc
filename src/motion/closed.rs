//! Closed forms of a joint's movements, and whether a measurement agrees with them.

use super::joint::Movement;
use crate::params::{Design, Key};
use crate::trade::stones::GIRDLE;
use crate::units::Mm;
use crate::walls::Judgement;
use serde::Serialize;

/// How a closed form stands to the truth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Is {
    /// The angle itself, of the joint drawn in the plane of the movement.
    Exact,
    /// The joint turns at least so far.
    AtLeast,
    /// It turns at most so far.
    AtMost,
}

/// A closed form's angle.
#[derive(Clone, Debug, Serialize)]
pub struct ClosedForm {
    /// Angle, degrees.
    pub deg: f64,
    /// What it is.
    pub is: Is,
    /// Its formula.
    pub formula: &'static str,
}

/// The closed form of a movement, elementary geometry of bars and circles; the stones `larger` than the design's in diameter.
#[must_use]
pub fn closed_form(design: &Design, m: Movement, larger: Mm) -> Option<ClosedForm> {
    let d = design.dims();
    let get = |k: Key| design.get(k);
    let form =
        |deg: f64, is: Is, formula: &'static str| deg.is_finite().then_some(ClosedForm { deg, is, formula });
    match (m, &d.wire, &d.hinge) {
        (Movement::Inward, Some(w), _) => {
            let deg = d.turn_inward.get();
            // Under the roof of its bore the wire stands back a little, and turns on until the web binds or the feet meet.
            let others = w.turn_web.get().min(w.turn_base.get());
            let is = if w.turn_roof.get() < others { Is::AtLeast } else { Is::Exact };
            form(deg, is, "least of: web binding in the loop, wire under the roof of the bore, foot on foot")
        }
        (Movement::Back, ..) if girdles(design, larger).is_some_and(|g| g < d.turn_outward.get()) => form(
            girdles(design, larger).unwrap_or(f64::NAN),
            Is::Exact,
            "the claws' form at the upper edge of the girdles: stone on stone comes before claw on claw",
        ),
        (Movement::Back, Some(_), _) => form(
            d.turn_outward.get(),
            Is::Exact,
            "(z - z_w + h_web/2 - r) sin t = g + j_x + (W/2 - x_w + a/2 - r)(1 - cos t) at the top of the claws",
        ),
        (Movement::Sideways, Some(w), _) => {
            let (bore, a) = (get(Key::BoreWidth), w.web_depth.get());
            let deg = (libm::acos(get(Key::Wire) / libm::hypot(bore, a)) - libm::atan2(a, bore)).to_degrees();
            form(deg, Is::AtMost, "w_b cos t = d_w + a sin t")
        }
        (Movement::Twist, Some(w), _) => {
            let play = get(Key::BoreWidth) - get(Key::Wire) + get(Key::GrooveWidth) - w.flat_width.get();
            let apart = get(Key::WebHeight) + f64::midpoint(get(Key::Wire), get(Key::WireFlat));
            form(
                libm::asin((play / 2.0 / apart).min(1.0)).to_degrees(),
                Is::AtMost,
                "half of both plays over the distance of the legs",
            )
        }
        (Movement::Inward, None, Some(_)) => form(
            d.turn_inward.get(),
            Is::AtLeast,
            "2 atan((p/2 - foot)/z_h): foot on foot, were the feet whole",
        ),
        (Movement::Back, None, Some(_)) => form(
            d.turn_outward.get(),
            Is::Exact,
            "2 atan(half the gap of the claws/(z - z_h)) at the top of the claws",
        ),
        (Movement::Sideways | Movement::Twist, None, Some(h)) => form(
            (h.pin_play.get() / h.middle_knuckle.get()).to_degrees(),
            Is::AtMost,
            "(bore - pin)/middle knuckle",
        ),
        (_, None, None) => None,
    }
}

/// Back-bend at which the girdles of the largest stones would meet, degrees, as the claws do in [`closed_form`]; `None` where they pass
/// one another.
fn girdles(design: &Design, larger: Mm) -> Option<f64> {
    let (d, get) = (design.dims(), |k: Key| design.get(k));
    let stone = get(Key::Diameter) + larger.get();
    let gap = d.pitch.get() - stone;
    let up = d.girdle.get() + GIRDLE * stone - d.joint_height.get();
    if up <= 0.0 {
        return None;
    }
    let Some(w) = &d.wire else { return Some((2.0 * libm::atan(gap / 2.0 / up)).to_degrees()) };
    let (r, a) = (get(Key::WebEdge), w.web_depth.get());
    let arm = up + get(Key::WebHeight) / 2.0 - r;
    let lever = stone / 2.0 - w.web_x.get() + a / 2.0 - r;
    // arm sin t + lever cos t = gap + play + lever.
    let share = (gap + get(Key::EndPlay) + lever) / libm::hypot(arm, lever);
    (share <= 1.0).then(|| (libm::asin(share) - libm::atan2(lever, arm)).to_degrees())
}

impl ClosedForm {
    /// Whether bounds of the measured angle agree: fail only where they prove that it does not.
    #[must_use]
    pub fn agrees(&self, free_to: f64, touches_by: Option<f64>) -> Judgement {
        let above = touches_by.is_none_or(|t| t >= self.deg);
        let below = free_to <= self.deg;
        let open = |proved: bool, possible: bool| match (proved, possible) {
            (true, _) => Judgement::Pass,
            (false, true) => Judgement::Unverified,
            (false, false) => Judgement::Fail,
        };
        match self.is {
            // An angle within the bounds is as much as can be said, once there are two of them.
            Is::Exact => open(below && above && touches_by.is_some(), below && above),
            Is::AtLeast => open(free_to >= self.deg, above),
            Is::AtMost => open(touches_by.is_some_and(|t| t <= self.deg), below),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agreement_is_proved_open_or_refuted() {
        let form = |is| ClosedForm { deg: 10.0, is, formula: "" };
        let says = |is, free, touches| form(is).agrees(free, touches);
        assert_eq!(says(Is::Exact, 9.9, Some(10.1)), Judgement::Pass);
        assert_eq!(says(Is::Exact, 9.9, None), Judgement::Unverified);
        assert_eq!(says(Is::Exact, 10.1, Some(10.3)), Judgement::Fail);
        assert_eq!(says(Is::Exact, 9.0, Some(9.9)), Judgement::Fail);
        assert_eq!(says(Is::AtLeast, 10.0, Some(10.3)), Judgement::Pass);
        assert_eq!(says(Is::AtLeast, 9.9, Some(10.3)), Judgement::Unverified);
        assert_eq!(says(Is::AtLeast, 9.0, Some(9.9)), Judgement::Fail);
        assert_eq!(says(Is::AtMost, 9.0, Some(9.9)), Judgement::Pass);
        assert_eq!(says(Is::AtMost, 9.0, Some(10.9)), Judgement::Unverified);
        assert_eq!(says(Is::AtMost, 10.1, Some(10.9)), Judgement::Fail);
    }
}
