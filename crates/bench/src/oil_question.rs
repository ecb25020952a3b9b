//! The question that a job puts to the oil: which clearances, in which engine.

use fit::{Fit, OilCase, oil_case};
use sheet::Sheet;

use crate::desk::Desk;
use crate::judged::PATIENCE;
use job::JobCard;

/// The case of a job, with what it was made from.
pub(crate) struct OilQuestion {
    pub(crate) asked: OilCase,
    pub(crate) sheet: Sheet,
    pub(crate) fit: Fit,
}

/// The case of a job as it stands; or in words why there is none.
pub(crate) async fn oil_question(desk: &Desk, held: &JobCard) -> Result<OilQuestion, String> {
    let judgement = desk.judges.judge(held, PATIENCE).await;
    let judged = judgement.latest().map(|(judged, _)| judged);
    let worked = judged.and_then(|judged| Some((judged.answer.as_ref().ok()?, judged.fit.clone()?)));
    let (sheet, fit) = match worked {
        Some(((sheet, _), fit)) => (sheet.clone(), fit),
        // Before there is a verdict the book and the readings alone can be asked.
        None => {
            let sheet = held.sheet().map_err(|_| "Nothing is measured yet. Measure the journals first.".to_owned())?;
            let sheet = sheet.clone();
            let fit = fit::fit(&sheet.engine(), None, &sheet.policy);
            (sheet, fit)
        }
    };
    let asked = oil_case(&sheet.engine(), &fit)?;
    Ok(OilQuestion { asked, sheet, fit })
}
