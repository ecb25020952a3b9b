//! What the oil makes of a case, worked out once for as long as nobody changes the case.

use std::collections::VecDeque;
use std::sync::{Arc, Mutex, PoisonError};

use film::Problems;
use film::case::{Answer, Case, answer};
use tokio::sync::Semaphore;

use crate::trouble::Trouble;

/// Answers kept at hand. One takes some 30 kB.
const AT_HAND: usize = 50;

/// Answers worked out at the same time, so that one that takes long holds up nobody who asks about another case.
const AT_ONCE: usize = 4;

/// Answers by their cases; cheap to clone.
#[derive(Clone, Debug)]
pub(crate) struct OilAnswers {
    kept: Arc<Mutex<VecDeque<Kept>>>,
    /// What is being worked out, with the lock that is held meanwhile: whoever asks the same waits for it.
    at_work: Arc<Mutex<Vec<AtWork>>>,
    turns: Arc<Semaphore>,
}

impl Default for OilAnswers {
    fn default() -> OilAnswers {
        OilAnswers { kept: Arc::default(), at_work: Arc::default(), turns: Arc::new(Semaphore::new(AT_ONCE)) }
    }
}

#[derive(Debug)]
struct AtWork {
    case: Case,
    held: Arc<tokio::sync::Mutex<()>>,
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
        let held = self.lock_of(case).lock_owned().await;
        // Whoever was at work may have been asked the same.
        if let Some(answer) = self.kept(case) {
            return Ok(Ok(answer));
        }
        // Never closed.
        let turn = Arc::clone(&self.turns).acquire_owned().await.ok();
        let (answers, asked) = (self.clone(), case.clone());
        let worked = tokio::task::spawn_blocking(move || {
            // Both end with the work, even where nobody waits for it any more.
            let _until_done = (held, turn);
            let answer = Arc::new(answer(&asked)?);
            answers.keep(asked, Arc::clone(&answer));
            Ok(answer)
        });
        worked.await.map_err(|error| Trouble::fault(error.to_string()))
    }

    /// The lock that is held while this case is worked out.
    fn lock_of(&self, case: &Case) -> Arc<tokio::sync::Mutex<()>> {
        let mut at_work = self.at_work.lock().unwrap_or_else(PoisonError::into_inner);
        // Nobody holds or waits for those that only stand here.
        at_work.retain(|one| Arc::strong_count(&one.held) > 1);
        if let Some(one) = at_work.iter().find(|one| one.case == *case) {
            return Arc::clone(&one.held);
        }
        let held = Arc::default();
        at_work.push(AtWork { case: case.clone(), held: Arc::clone(&held) });
        held
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

    /// One that takes long does not keep the answer to another case waiting.
    #[tokio::test]
    async fn one_case_does_not_hold_another() {
        let answers = OilAnswers::default();
        let held = answers.lock_of(&case(45e-6)).lock_owned().await;
        answers.of(&case(60e-6)).await.ok().and_then(Result::ok).expect("an answer");
        assert!(answers.lock_of(&case(45e-6)).try_lock().is_err(), "who asks the same waits");
        drop(held);
        answers.of(&case(45e-6)).await.ok().and_then(Result::ok).expect("an answer");
        assert!(answers.at_work.lock().expect("nobody panicked").len() <= 1, "what is done is forgotten");
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
