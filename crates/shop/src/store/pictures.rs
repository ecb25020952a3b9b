//! Photographs of damage, kept beside the log by the hash of their bytes.

use sha2::{Digest, Sha256};
use tokio::sync::Semaphore;

use super::{Store, reading, writing};
use crate::error::StoreError;
use crate::fold::hex;
use crate::photograph::renewed;

/// Whose picture is being taken apart.
static ONE_AT_A_TIME: Semaphore = Semaphore::const_new(1);

/// A picture that is kept.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, utoipa::ToSchema)]
pub struct KeptPicture {
    /// The hash it is kept under.
    pub hash: String,
    /// Points across.
    pub width: u32,
    /// Points down.
    pub height: u32,
}

impl Store {
    /// Keeps a photograph. It is taken apart and written anew as a JPEG, turned the way the camera was held, so that
    /// nothing else that was in the file (place, owner, a program) is kept.
    ///
    /// # Errors
    /// [`StoreError::PictureTooLarge`], [`StoreError::NotAPicture`], or what the database says.
    pub async fn keep_picture(&self, file: Vec<u8>) -> Result<KeptPicture, StoreError> {
        self.may_write()?;
        // One after another, so that the memory for one is enough for however many are sent.
        let turn = ONE_AT_A_TIME.acquire().await.map_err(StoreError::fault)?;
        let work = move || {
            let renewed = renewed(&file);
            // Held until it is done, also where whoever sent it has gone.
            drop(turn);
            renewed
        };
        let (jpeg, width, height) = tokio::task::spawn_blocking(work).await.map_err(StoreError::fault)??;
        let hash = hex(&Sha256::digest(&jpeg));
        let query = "INSERT INTO picture (hash, width, height, jpeg) VALUES ($1, $2, $3, $4) ON CONFLICT (hash) DO \
                     NOTHING";
        writing!(self, tx => {
            sqlx::query(query)
                .bind(&hash)
                .bind(i64::from(width))
                .bind(i64::from(height))
                .bind(&jpeg)
                .execute(&mut *tx)
                .await?;
            tx.commit().await?;
        });
        Ok(KeptPicture { hash, width, height })
    }

    /// The JPEG kept under a hash.
    ///
    /// # Errors
    /// [`StoreError::NoSuchPicture`], or what the database says.
    pub async fn picture(&self, hash: &str) -> Result<Vec<u8>, StoreError> {
        let query = "SELECT jpeg FROM picture WHERE hash = $1";
        let found: Option<(Vec<u8>,)> =
            reading!(self, pool => sqlx::query_as(query).bind(hash).fetch_optional(pool).await?);
        let (jpeg,) = found.ok_or(StoreError::NoSuchPicture)?;
        if hex(&Sha256::digest(&jpeg)) != hash {
            return Err(StoreError::damaged(format!("the picture {hash} is not what was kept")));
        }
        Ok(jpeg)
    }
}
