//! Photographs of damage, kept beside the log by the hash of their bytes.

use image::codecs::jpeg::JpegEncoder;
use image::{ImageDecoder, ImageReader, Limits};
use sha2::{Digest, Sha256};

use super::{Store, reading, writing};
use crate::error::StoreError;
use crate::fold::hex;

/// The largest file that is taken, in megabytes.
pub const MOST_PICTURE_MB: usize = 20;
/// The most points along one side; a camera has fewer.
const MOST_POINTS: u32 = 12_000;
/// Pictures are kept no larger than this along their longer side: enough to see a score, small enough for a tablet.
const KEPT_POINTS: u32 = 2_000;
/// Quality of the kept JPEG, of 100.
const QUALITY: u8 = 85;

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
        if file.len() > MOST_PICTURE_MB * 1_000_000 {
            return Err(StoreError::PictureTooLarge { most_mb: MOST_PICTURE_MB });
        }
        let (jpeg, width, height) =
            tokio::task::spawn_blocking(move || renewed(&file)).await.map_err(StoreError::fault)??;
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

/// The picture as a new JPEG, with its width and height.
fn renewed(file: &[u8]) -> Result<(Vec<u8>, u32, u32), StoreError> {
    let no_picture = |error: image::ImageError| match error {
        image::ImageError::Limits(_) => StoreError::PictureTooLarge { most_mb: MOST_PICTURE_MB },
        error => StoreError::NotAPicture { detail: error.to_string() },
    };
    let mut reader = ImageReader::new(std::io::Cursor::new(file))
        .with_guessed_format()
        .map_err(|error| StoreError::NotAPicture { detail: error.to_string() })?;
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_POINTS);
    limits.max_image_height = Some(MOST_POINTS);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(no_picture)?;
    let orientation = decoder.orientation().map_err(no_picture)?;
    let mut picture = image::DynamicImage::from_decoder(decoder).map_err(no_picture)?;
    picture.apply_orientation(orientation);
    if picture.width().max(picture.height()) > KEPT_POINTS {
        picture = picture.thumbnail(KEPT_POINTS, KEPT_POINTS);
    }
    let plain = picture.to_rgb8();
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&plain).map_err(no_picture)?;
    Ok((jpeg, plain.width(), plain.height()))
}
