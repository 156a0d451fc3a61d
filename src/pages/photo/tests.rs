//! Pictures are put together here, byte by byte; they show nothing.

use super::*;

fn segment(marker: u8, content: &[u8]) -> Vec<u8> {
    let length = u16::try_from(content.len() + 2).expect("short");
    [&[0xff, marker], &length.to_be_bytes()[..], content].concat()
}

/// Notes of a camera, little end first: which way up, and where it was.
fn notes(way: u8) -> Vec<u8> {
    let mut notes = b"Exif\0\0II\x2a\0\x08\0\0\0\x02\0".to_vec();
    notes.extend(b"\x25\x88\x04\0\x01\0\0\0\x64\0\0\0");
    notes.extend(b"\x12\x01\x03\0\x01\0\0\0");
    notes.extend([way, 0, 0, 0]);
    notes.extend(b"\0\0\0\0GPS 52.1 N 4.3 E, camera of somebody");
    notes
}

const SECRET: &[u8] = b"GPS 52.1 N";

fn jpeg(way: u8, after: &[u8]) -> Vec<u8> {
    let frame = [8, 0, 16, 0, 16, 1, 1, 0x11, 0];
    [
        &[0xff, 0xd8][..],
        &segment(0xe0, b"JFIF\0\x01\x01\0\0\x01\0\x01\0\0"),
        &segment(0xe1, &notes(way)),
        &segment(0xe2, b"ICC_PROFILE\0 GPS 52.1 N"),
        &segment(0xfe, b"a remark: GPS 52.1 N"),
        &segment(0xdb, &[0; 65]),
        &segment(0xc0, &frame),
        &segment(0xc4, &[0; 20]),
        &segment(0xda, &[1, 1, 0, 0, 63, 0]),
        &[1, 2, 0xff, 0x00, 3, 0xff, 0xd0, 4],
        &[0xff, 0xd9],
        after,
    ]
    .concat()
}

fn chunk(name: [u8; 4], content: &[u8]) -> Vec<u8> {
    let length = u32::try_from(content.len()).expect("short");
    [&length.to_be_bytes()[..], &name, content, b"sum!"].concat()
}

fn header(width: u32, height: u32) -> Vec<u8> {
    [&width.to_be_bytes()[..], &height.to_be_bytes(), &[8, 2, 0, 0, 0]].concat()
}

fn png(width: u32, height: u32, after: &[u8]) -> Vec<u8> {
    [
        png::BEGINS,
        &chunk(*b"IHDR", &header(width, height)),
        &chunk(*b"tEXt", b"Where\0GPS 52.1 N"),
        &chunk(*b"eXIf", b"GPS 52.1 N"),
        &chunk(*b"IDAT", b"picture"),
        &chunk(*b"iTXt", b"GPS 52.1 N"),
        &chunk(*b"IEND", b""),
        after,
    ]
    .concat()
}

fn has(bytes: &[u8], what: &[u8]) -> bool {
    memchr::memmem::find(bytes, what).is_some()
}

#[test]
fn nothing_is_left_but_the_picture() {
    let behind = b"<script>GPS 52.1 N</script>";
    for (given, kind) in [(jpeg(1, behind), Kind::Jpeg), (png(16, 16, behind), Kind::Png)] {
        assert!(has(&given, SECRET));
        let photo = taken(&given).expect("a photo");
        assert_eq!(photo.kind, kind);
        assert!(!has(&photo.bytes, SECRET), "{:?}", photo.bytes);
        assert!(!has(&photo.bytes, b"script"));
        assert_eq!(taken(&photo.bytes), Ok(photo), "what was taken once stays as it is");
    }
    let photo = taken(&jpeg(1, b"")).expect("a photo");
    assert!(has(&photo.bytes, &[1, 2, 0xff, 0x00, 3, 0xff, 0xd0, 4, 0xff, 0xd9]));
    assert!(!has(&photo.bytes, b"Exif") && !has(&photo.bytes, b"JFIF"));
}

#[test]
fn which_way_up_is_kept_and_nothing_else_of_the_notes() {
    for way in 2..=8 {
        let photo = taken(&jpeg(way, b"")).expect("a photo");
        assert_eq!(photo.bytes.windows(4).filter(|w| *w == b"Exif").count(), 1);
        assert!(has(&photo.bytes, &[0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, way]), "{way}");
        assert!(!has(&photo.bytes, SECRET));
        assert_eq!(taken(&photo.bytes).map(|again| again.bytes), Ok(photo.bytes));
    }
    for none in [0, 1, 9, 255] {
        assert!(!has(&taken(&jpeg(none, b"")).expect("a photo").bytes, b"Exif"), "{none}");
    }
}

#[test]
fn what_is_torn_anywhere_is_refused_and_never_more_than_that() {
    for whole in [jpeg(6, b""), png(16, 16, b"")] {
        for cut in 0..whole.len() {
            assert!(taken(&whole[..cut]).is_err(), "{cut}");
        }
        for at in 0..whole.len() {
            for byte in [0, 1, 0x7f, 0xd8, 0xd9, 0xff] {
                let mut bent = whole.clone();
                bent[at] = byte;
                // Whatever comes of it, it comes to an end.
                let _ = taken(&bent);
            }
        }
    }
}

#[test]
fn what_is_no_photo_is_refused() {
    for none in [
        &b""[..],
        b"GIF89a",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"<!doctype html><script>alert(1)</script>",
        b"RIFF....WEBP",
        b"%PDF-1.4",
        b"\xff\xd8",
        b"(format: 8)",
    ] {
        assert_eq!(taken(none), Err(PhotoError::Unknown));
    }
    assert_eq!(taken(b"\xff\xd8\xff<script>"), Err(PhotoError::Damaged));
    for (width, height) in [(0, 1), (1, 0), (20_001, 1), (u32::MAX, u32::MAX), (20_000, 20_000)] {
        assert_eq!(taken(&png(width, height, b"")), Err(PhotoError::Size), "{width} {height}");
    }
    assert_eq!(taken(&vec![0; LARGEST + 1]), Err(PhotoError::TooLarge));
}
