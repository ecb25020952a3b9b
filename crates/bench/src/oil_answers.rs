//! What the oil makes of a case, worked out once for as long as nobody changes the case.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use film::Problems;
use film::case::{Answer, Case, answer};

use crate::trouble::Trouble;

/// Answers kept at hand. One takes some 30 kB.
const AT_HAND: usize = 50;

/// Answers by their cases; cheap to clone.
#[derive(Clone, Debug, Default)]
pub(crate) struct OilAnswers {
    kept: Arc<Mutex<VecDeque<Kept>>>,
    /// One is worked out at a time: each uses all processors by itself, and who waits often waits for the same.
    at_work: Arc<tokio::sync::Mutex<()>>,
}

#[derive(Debug)]
struct Kept {
    case: Case,
    answer: Arc<Answer>,
}

impl OilAnswers {
    /// The answer to a case, or what is wrong with the case.
    pub(crate) async fn of(&self, case: &Case) -> Result<Result<Arc<Answer>, Problems>, Trouble> {
        if let Some(answer) = self.kept(case) {
            return Ok(Ok(answer));
        }
        let turn = Arc::clone(&self.at_work).lock_owned().await;
        // Whoever was at work may have been asked the same.
        if let Some(answer) = self.kept(case) {
            return Ok(Ok(answer));
        }
        let (answers, asked) = (self.clone(), case.clone());
        let worked = tokio::task::spawn_blocking(move || {
            // The turn ends with the work, even where nobody waits for it any more.
            let _turn = turn;
            let answer = Arc::new(answer(&asked)?);
            answers.keep(asked, Arc::clone(&answer));
            Ok(answer)
        });
        worked.await.map_err(|error| Trouble::fault(error.to_string()))
    }

    fn kept(&self, case: &Case) -> Option<Arc<Answer>> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.iter().find(|kept| kept.case == *case).map(|kept| Arc::clone(&kept.answer))
    }

    fn keep(&self, case: Case, answer: Arc<Answer>) {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.push_back(Kept { case, answer });
        if kept.len() > AT_HAND {
            kept.pop_front();
        }
    }
}

#[cfg(test)]
mod tests {
    use film::case::{Clearance, Known};

    use super::*;

    fn case(pin_diametral_m: f64) -> Case {
        let known = Known {
            stroke_m: 0.08,
            pin_diameter_m: 0.045,
            pin_length_m: 0.018,
            main_diameter_m: 0.054,
            main_length_m: 0.02,
        };
        let mut case = Case::new(&known, &[0.0], &[1]);
        case.clearances = vec![Clearance::alike("as planned", pin_diametral_m, 54e-6)];
        case
    }

    /// Four who ask the same at once get one and the same answer; another case has its own, and one that cannot be worked
    /// with is told what is wrong with it, each time.
    #[tokio::test]
    async fn a_case_is_worked_out_once() {
        let answers = OilAnswers::default();
        let same = case(45e-6);
        let asked = || answers.of(&same);
        let (a, b, c, d) = tokio::join!(asked(), asked(), asked(), asked());
        let found = [a, b, c, d].map(|found| found.ok().and_then(Result::ok).expect("an answer"));
        assert!(found.iter().all(|other| Arc::ptr_eq(other, &found[0])));
        let other = answers.of(&case(60e-6)).await.ok().and_then(Result::ok).expect("an answer");
        assert!(other.clearances[0].hot_idle.gauge_pa < found[0].clearances[0].hot_idle.gauge_pa);
        for _ in 0..2 {
            let problems = answers.of(&case(-1.0)).await.ok().and_then(Result::err).expect("no gap");
            assert_eq!(problems.0[0].field, "clearances[1].pin_diametral_m");
        }
        assert_eq!(answers.kept.lock().expect("nobody panicked").len(), 2);
    }
}
