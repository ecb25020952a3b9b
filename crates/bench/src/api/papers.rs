//! Papers of a job: which there are, and each as PDF.

use axum::Json;
use axum::extract::{FromRequestParts, Path, State};
use axum::http::request::Parts;
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use paper::PaperSize;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

use super::answers::{Asking, Refused, Told};
use super::ask::{Asked, Number};
use crate::desk::Desk;
use crate::papers::{Paper, Papers, of_job, usual_size};
use crate::trouble::Trouble;

/// A paper of a job.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PaperOfJob {
    /// The word it is asked for by.
    #[schema(example = "grinder")]
    paper: &'static str,
    /// What it is.
    says: &'static str,
    /// Whether it can be printed as the job stands, as far as can be told without working its verdict out.
    ready: bool,
    /// What is missing and what to do, where it cannot be printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(nullable = false)]
    missing: Option<String>,
}

/// The papers of a job, and why one cannot be printed yet.
#[utoipa::path(
    get, path = "/api/jobs/{job}/papers", tag = "papers", operation_id = "papers_of",
    params(("job" = i64, Path, description = "Its number.", example = 1001)),
    responses((status = 200, body = Vec<PaperOfJob>), Asking)
)]
pub(crate) async fn list(State(desk): State<Desk>, Number(job): Number) -> Result<Json<Vec<PaperOfJob>>, Refused> {
    let (held, shop) = (desk.job(job).await?, desk.shop().await?);
    let all = Papers::at_hand(&held, &shop);
    let told = Paper::ALL.into_iter().map(|paper| {
        let missing = all.missing(paper);
        PaperOfJob { paper: paper.word(), says: paper.says(), ready: missing.is_none(), missing }
    });
    Ok(Json(told.collect()))
}

/// What paper is cut to.
#[derive(Clone, Copy, Debug, Deserialize, ToSchema)]
pub(crate) enum Cut {
    /// 210 by 297 mm.
    A4,
    /// 8.5 by 11 in.
    Letter,
}

#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct OnWhat {
    /// What it is cut to; without one the shop's usual paper.
    #[param(inline, nullable = false)]
    size: Option<Cut>,
}

/// A paper of a job as PDF. The same record gives the same file.
#[utoipa::path(
    get, path = "/api/jobs/{job}/papers/{paper}", tag = "papers", operation_id = "paper",
    params(
        ("job" = i64, Path, description = "Its number.", example = 1001),
        ("paper" = String, Path, description = "The word of the paper, as the list of papers has it.", example = "form"),
        OnWhat
    ),
    responses(
        (status = 200, body = Vec<u8>, content_type = "application/pdf"),
        (status = 409, body = Told, description = "There is nothing yet to print on it."),
        Asking
    )
)]
pub(crate) async fn print(
    State(desk): State<Desk>,
    PaperPath(job, paper): PaperPath,
    Asked(on): Asked<OnWhat>,
) -> Result<Response, Refused> {
    let size = match on.size {
        Some(Cut::A4) => PaperSize::A4,
        Some(Cut::Letter) => PaperSize::Letter,
        None => usual_size(&*desk.shop().await?),
    };
    let file = of_job(&desk, job, paper, size).await.map_err(Trouble::from)?;
    Ok(([(header::CONTENT_TYPE, HeaderValue::from_static("application/pdf"))], file).into_response())
}

/// The job and the paper in the address.
#[derive(Debug)]
pub(crate) struct PaperPath(i64, Paper);

impl<S: Send + Sync> FromRequestParts<S> for PaperPath {
    type Rejection = Refused;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<PaperPath, Refused> {
        let Ok(Path((job, paper))) = Path::<(String, String)>::from_request_parts(parts, state).await else {
            return Err(Trouble::not_found("The address is no text in UTF-8.", "Look at the address again.").into());
        };
        let shown = |told: &str| told.chars().take(40).flat_map(char::escape_default).collect::<String>();
        let job = job
            .parse()
            .map_err(|_| Trouble::not_found(format!("No job {}.", shown(&job)), "Jobs have numbers: 1001, 1002 …"))?;
        let paper = Paper::from_word(&paper).ok_or_else(|| {
            let words = Paper::ALL.map(Paper::word).join(", ");
            Trouble::not_found(format!("There is no paper {}.", shown(&paper)), format!("There are {words}."))
        })?;
        Ok(PaperPath(job, paper))
    }
}
