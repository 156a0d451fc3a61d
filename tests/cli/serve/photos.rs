//! Photos beside an entry: kept bare, shown on the card, and nothing else let through.

use super::client::{Device, Got, Served};
use crate::bench::Bench;

/// A JPEG of one element with a camera's notes in it, put together by hand; it shows nothing.
fn photo() -> Vec<u8> {
    let mut bytes = vec![0xff, 0xd8];
    bytes.extend(b"\xff\xe1\x00\x1cExif\0\0 taken at 52.1 N ...");
    bytes.extend([0xff, 0xc0, 0, 11, 8, 0, 1, 0, 1, 1, 1, 0x11, 0]);
    bytes.extend([0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0, 7, 0xff, 0xd9]);
    bytes.extend(b"<script>behind</script>");
    bytes
}

fn send(device: &Device<'_>, entry: &str, photo: &[u8]) -> Got {
    let mut body = format!(
        "--x9\r\nContent-Disposition: form-data; name=\"entry\"\r\n\r\n{entry}\r\n--x9\r\n\
         Content-Disposition: form-data; name=\"photo\"; filename=\"../../x.html\"\r\n\
         Content-Type: text/html\r\n\r\n"
    )
    .into_bytes();
    body.extend_from_slice(photo);
    body.extend(b"\r\n--x9--\r\n");
    let (host, cookie) = (&device.served.host, &device.cookie);
    let head = format!(
        "POST /photos HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
         Content-Type: multipart/form-data; boundary=x9\r\nContent-Length: {}\r\n\r\n",
        body.len()
    );
    let mut request = head.into_bytes();
    request.extend(body);
    device.served.raw(&request).expect("an answer")
}

#[test]
fn a_photo_is_kept_bare_and_shown_on_the_card() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    assert_eq!(phone.get("/photos").status, 409, "there is no job yet");
    phone.opens("Van", "512 505 441 509");
    let before = Bench::read(&bench.job("van"));
    let page = phone.get("/photos");
    assert!(page.text().contains("1: readings at warm idle"), "{}", page.text());
    assert_eq!(send(&phone, "1", &photo()).status, 303);
    let kept = std::fs::read(bench.path("jobs/van.photos/1-1.jpg")).expect("kept");
    let text = String::from_utf8_lossy(&kept);
    assert!(!text.contains("52.1") && !text.contains("script"), "{text}");
    let shown = phone.get("/photo?e=1&n=1");
    assert_eq!((shown.status, shown.header("Content-Type")), (200, Some("image/jpeg")));
    assert_eq!(phone.get("/photo?e=1&n=2").status, 404);
    let card = phone.get("/card");
    assert!(card.body.contains("<img src=\"/photo?e=1&amp;n=1\""), "{}", card.text());
    // The card in one file holds it, the job is as it was.
    let page = bench.run("card van --format html").out;
    assert!(page.contains("<img src=\"data:image/jpeg;base64,/9j/"), "no photo");
    assert!(bench.run("card van").out.contains("Photos"));
    bench.run("card van -o card.pdf").succeeds();
    let paper = std::fs::read(bench.path("card.pdf")).expect("written");
    assert!(paper.windows(9).any(|bytes| bytes == b"DCTDecode"), "no photo on paper");
    assert_eq!(Bench::read(&bench.job("van")), before);
}

#[test]
fn what_is_no_photo_is_not_kept() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    phone.opens("Van", "512 505 441 509");
    let whole = photo();
    for none in [
        &b""[..],
        b"<!doctype html><script>alert(1)</script>",
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
        b"GIF89a\x01\0\x01\0",
        b"\xff\xd8\xff<script>alert(1)</script>",
        b"\x89PNG\r\n\x1a\n\xff\xff\xff\xffIHDR",
        &whole[..40],
    ] {
        let got = send(&phone, "1", none);
        assert_eq!(got.status, 400, "{}", got.text());
        assert!(got.text().contains("Not taken"), "{}", got.text());
    }
    for entry in ["0", "2", "-1", "../1", "", "1e9", "99999999999999999999"] {
        assert_eq!(send(&phone, entry, &whole).status, 400, "{entry}");
    }
    assert!(!bench.path("jobs/van.photos").exists());
    for _ in 0..8 {
        assert_eq!(send(&phone, "1", &whole).status, 303);
    }
    let full = send(&phone, "1", &whole);
    assert!(full.status == 400 && full.text().contains("no more are kept"), "{}", full.text());
}
