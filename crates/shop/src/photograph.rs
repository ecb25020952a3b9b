//! A photograph as it is kept: taken apart and written anew, within bounds that are known before it is taken apart.

use image::codecs::jpeg::JpegEncoder;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};

use crate::error::StoreError;

/// The largest file that is taken, in megabytes.
pub const MOST_PICTURE_MB: usize = 20;
/// The most points along one side; a camera has fewer.
const MOST_POINTS: u32 = 12_000;
/// The most memory that taking one apart may need, in bytes: 40 million points of an ordinary photograph.
const MOST_DECODED_BYTES: u64 = 120_000_000;
/// A JPEG that grows sharper while it loads is held twice: its coefficients (two bytes for each of three colours) beside
/// its points.
const PROGRESSIVE_BYTES_A_POINT: u64 = 6;
/// Pictures are kept no larger than this along their longer side: enough to see a score, small enough for a tablet.
const KEPT_POINTS: u32 = 2_000;
/// Quality of the kept JPEG, of 100.
const QUALITY: u8 = 85;

/// The picture as a new JPEG, with its width and height.
pub(crate) fn renewed(file: &[u8]) -> Result<(Vec<u8>, u32, u32), StoreError> {
    let too_large = || StoreError::PictureTooLarge { most_mb: MOST_PICTURE_MB };
    let not = |detail: &str| StoreError::NotAPicture { detail: detail.to_owned() };
    let no_picture = |error: image::ImageError| match error {
        image::ImageError::Limits(_) => too_large(),
        error => StoreError::NotAPicture { detail: error.to_string() },
    };
    if file.len() > MOST_PICTURE_MB * 1_000_000 {
        return Err(too_large());
    }
    let mut reader =
        ImageReader::new(std::io::Cursor::new(file)).with_guessed_format().map_err(|error| not(&error.to_string()))?;
    let progressive = match reader.format() {
        Some(ImageFormat::Jpeg) => match parts_of_jpeg(file) {
            Some(Jpeg { whole: true, progressive }) => progressive,
            _ => return Err(not("it ends before the picture does")),
        },
        Some(ImageFormat::Png) => false,
        _ => return Err(not("it begins like neither")),
    };
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_POINTS);
    limits.max_image_height = Some(MOST_POINTS);
    limits.max_alloc = Some(MOST_DECODED_BYTES);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(no_picture)?;
    let (width, height) = decoder.dimensions();
    let besides = if progressive { PROGRESSIVE_BYTES_A_POINT } else { 0 };
    let needs = u64::from(width) * u64::from(height) * besides + decoder.total_bytes();
    if needs > MOST_DECODED_BYTES {
        return Err(too_large());
    }
    let orientation = decoder.orientation().map_err(no_picture)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(no_picture)?;
    // Made smaller before it is turned, so that the whole of it is never held twice.
    if picture.width().max(picture.height()) > KEPT_POINTS {
        picture = picture.thumbnail(KEPT_POINTS, KEPT_POINTS);
    }
    picture.apply_orientation(orientation);
    let plain = picture.into_rgb8();
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY).encode_image(&plain).map_err(no_picture)?;
    Ok((jpeg, plain.width(), plain.height()))
}

/// What the markers of a JPEG say (ISO/IEC 10918-1, annex B).
struct Jpeg {
    /// Whether its end is there.
    whole: bool,
    /// Whether it grows sharper while it loads.
    progressive: bool,
}

/// Walks the markers of a JPEG to its end; nothing where they are no markers. A decoder fills in what is missing with
/// grey, and on grey no crack is seen.
fn parts_of_jpeg(file: &[u8]) -> Option<Jpeg> {
    let (mut rest, mut progressive) = (file.strip_prefix(&[0xff, 0xd8])?, false);
    loop {
        // Between markers there may be any number of 0xff to fill up, and after a scan its data: 0xff00 and restarts
        // (0xd0 to 0xd7) belong to them.
        let Some(at) = rest.windows(2).position(|two| matches!(two, [0xff, code] if !in_a_scan(*code))) else {
            return Some(Jpeg { whole: false, progressive });
        };
        let code = *rest.get(at + 1)?;
        rest = rest.get(at + 2..)?;
        match code {
            0xd9 => return Some(Jpeg { whole: true, progressive }),
            // Stand alone.
            0x01 | 0xd8 => {}
            _ => {
                progressive |= matches!(code, 0xc2 | 0xc6 | 0xca | 0xce);
                let length = match rest {
                    [high, low, ..] => usize::from(u16::from_be_bytes([*high, *low])),
                    _ => return Some(Jpeg { whole: false, progressive }),
                };
                match rest.get(length..) {
                    Some(after) if length >= 2 => rest = after,
                    _ => return Some(Jpeg { whole: false, progressive }),
                }
            }
        }
    }
}

const fn in_a_scan(code: u8) -> bool {
    matches!(code, 0x00 | 0xd0..=0xd7 | 0xff)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A picture with something to see in it, so that its scan is long.
    fn jpeg(width: u32, height: u32) -> Vec<u8> {
        let picture = image::RgbImage::from_fn(width, height, |x, y| {
            image::Rgb([x, y, x * y].map(|part| u8::try_from(part.wrapping_mul(2_654_435_761) >> 24).unwrap()))
        });
        let mut file = Vec::new();
        JpegEncoder::new_with_quality(&mut file, 90).encode_image(&picture).unwrap();
        file
    }

    fn png(width: u32, height: u32) -> Vec<u8> {
        let mut file = std::io::Cursor::new(Vec::new());
        DynamicImage::new_luma8(width, height).write_to(&mut file, ImageFormat::Png).unwrap();
        file.into_inner()
    }

    #[test]
    fn a_picture_that_was_cut_off_is_refused_wherever_it_was_cut() {
        let whole = jpeg(400, 300);
        let (_, width, height) = renewed(&whole).unwrap();
        assert_eq!((width, height), (400, 300));
        for in_20 in 0..20 {
            let cut = &whole[..whole.len() * in_20 / 20];
            assert!(matches!(renewed(cut), Err(StoreError::NotAPicture { .. })), "{in_20} twentieths");
        }
        assert!(matches!(renewed(&whole[..whole.len() - 1]), Err(StoreError::NotAPicture { .. })));
        // What a telephone puts behind the picture does not matter.
        assert!(renewed(&[whole.as_slice(), b"more"].concat()).is_ok());
        let whole = png(400, 300);
        assert!(renewed(&whole).is_ok());
        for in_20 in 0..20 {
            let cut = &whole[..whole.len() * in_20 / 20];
            assert!(matches!(renewed(cut), Err(StoreError::NotAPicture { .. })), "{in_20} twentieths");
        }
    }

    #[test]
    fn a_small_file_that_would_fill_the_memory_is_refused_before_it_does() {
        // 12,000 by 10,001 grey points are 120 kB as a file and 120,012,000 bytes taken apart.
        for (width, height, fits) in [(12_000, 10_001, false), (12_001, 1, false), (3_000, 2_000, true)] {
            let kept = renewed(&png(width, height));
            assert_eq!(kept.is_ok(), fits, "{width} by {height}");
            assert!(fits || matches!(kept, Err(StoreError::PictureTooLarge { .. })));
        }
        // A JPEG says its size where nobody checks it: here 65,535 by 65,535, then 12,000 by 12,000.
        for side in [65_535_u16, 12_000] {
            let mut file = jpeg(16, 16);
            let at = file.windows(2).position(|two| two == [0xff, 0xc0]).unwrap();
            file[at + 5..at + 7].copy_from_slice(&side.to_be_bytes());
            file[at + 7..at + 9].copy_from_slice(&side.to_be_bytes());
            assert!(matches!(renewed(&file), Err(StoreError::PictureTooLarge { .. })), "{side}");
        }
        // One that grows sharper needs three times as much: 16 million points do not fit, of an ordinary one they do.
        let mut file = jpeg(16, 16);
        let at = file.windows(2).position(|two| two == [0xff, 0xc0]).unwrap();
        for (kind, fits) in [(0xc2, false), (0xc0, true)] {
            file[at + 1] = kind;
            file[at + 5..at + 7].copy_from_slice(&4_000_u16.to_be_bytes());
            file[at + 7..at + 9].copy_from_slice(&4_000_u16.to_be_bytes());
            let large = matches!(renewed(&file), Err(StoreError::PictureTooLarge { .. }));
            assert_eq!(!large, fits, "{kind:x}");
        }
    }

    #[test]
    fn the_largest_is_kept_small_and_as_it_was_held() {
        let (jpeg, width, height) = renewed(&jpeg(3_000, 1_500)).unwrap();
        assert_eq!((width, height), (2_000, 1_000));
        assert!(image::load_from_memory(&jpeg).is_ok());
    }

    #[test]
    fn what_is_neither_jpeg_nor_png_is_refused() {
        for file in [&b""[..], b"GIF89a", b"\xff\xd8", b"\xff\xd8\xff", b"\xff\xd8\xff\xe0\x00\x00", b"BM"] {
            assert!(matches!(renewed(file), Err(StoreError::NotAPicture { .. })), "{file:?}");
        }
    }
}
