//! A whole job by GET and POST, from the key to the card.

use std::fmt::Write as _;
use std::io::Write as _;

use super::client::Served;
use crate::bench::Bench;

#[test]
fn a_job_is_played_from_the_key_to_the_card() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    let page = phone.opens("Blue estate; AB 123", "512 505,5 441 509");
    assert_eq!(page.question(), "What now?");
    let text = page.text();
    assert!(text.contains("Saved as entry 1") && text.contains("Next"), "{text}");
    assert!(text.contains("Blue estate: display 3 reads low"), "{text}");
    // Whatever is advised, a look that shows the cause is entered, then the remedy and the proof.
    phone.picks("What now?", "Enter a test of my own choice");
    phone.picks("Which test? Type a word of it to search.", "Look at depth marks");
    let engine = phone.page();
    assert_eq!(engine.question(), "On which one?");
    assert_eq!(engine.options().len(), 4);
    assert!(engine.body.contains("class=\"engine\""), "{}", engine.body);
    phone.picks("On which one?", "cylinder 3");
    phone.picks("And now?", "Done: enter what it showed");
    let page = phone.picks("What did it show on cylinder 3?", "Sits shallower");
    assert!(page.text().contains("Saved as entry 2"), "{}", page.text());
    phone.picks("What now?", "Enter a remedy that was done");
    phone.picks("What was put right?", "Probe not in far enough, cylinder 3");
    // The mark alone does not prove it yet: the depth could be measured before it is set.
    phone.picks("Enter that look first?", "no");
    phone.picks("Was that done?", "yes");
    phone.values("Displays 1 to 4 at warm idle, °C:", "510 507 503 508");
    phone.picks("What now?", "Enter readings");
    phone.picks("Exhaust readings: how does the engine run?", "steady cruise");
    let page = phone.values("Displays 1 to 4 at steady cruise, °C:", "653 649 645 650");
    assert!(page.text().contains("VERIFIED"), "{}", page.text());
    phone.picks("What now?", "More");
    phone.picks("More:", "Close the job");
    let page = phone.picks("Show the job card?", "yes");
    assert!(page.text().contains("What was wrong"), "{}", page.text());
    let card = phone.get("/card");
    assert_eq!(card.status, 200);
    for said in ["Job card", "Probe not in far enough", "How it was proven", "AB 123"] {
        assert!(card.text().contains(said), "{said}: {}", card.text());
    }
    // The job is what the commands would have made.
    let file = phone.get("/job.ron");
    assert_eq!(
        file.header("Content-Disposition"),
        Some("attachment; filename=\"blue-estate.ron\"")
    );
    assert_eq!(file.body, Bench::read(&bench.job("blue-estate")));
    bench.run("verify blue-estate").succeeds();
    let page = phone.picks("What now?", "Put it away");
    assert!(page.text().contains("is kept with"), "{}", page.text());
}

#[test]
fn a_question_is_answered_once_and_a_step_back_leads_back() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    let first = phone.begin();
    let second = phone.answers(&first, "line=van");
    assert_eq!(second.question(), "What is the complaint?");
    // The browser's own way back, and the same form again.
    let again = phone.answers(&first, "line=bus");
    assert_eq!(again.question(), "What is the complaint?");
    let back = phone.answers(&again, "back=1");
    assert_eq!(back.question(), "Which vehicle or engine?");
    assert!(back.body.contains("value=\"van\""), "what was typed is still there");
    let wrong = phone.post("/answer", "n=4&choice=1");
    assert_eq!((wrong.status, wrong.question().as_str()), (303, ""));
}

#[test]
fn wrong_values_are_said_and_stay_in_their_fields() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    let page = phone.opens("Van", "512 5o5 open ");
    assert_eq!(page.question(), "Displays 1 to 4 at warm idle, °C:");
    let text = page.text();
    assert!(text.contains("`5o5`"), "{text}");
    assert!(page.body.contains("name=\"v2\" inputmode=\"decimal\" value=\"5o5\""), "{}", page.body);
    assert!(page.body.contains("<option value=\"open\" selected"), "{}", page.body);
    let page = phone.values("Displays 1 to 4 at warm idle, °C:", "512 505 open 498");
    assert_eq!(page.question(), "What now?");
}

#[test]
fn stop_stands_above_every_question_until_it_is_over() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    let page = phone.opens("Van", "612 605 1010 598");
    let stop = |body: &str| body.contains("class=\"heat stop\"");
    assert!(stop(&page.body), "{}", page.text());
    let inside = phone.picks("What now?", "Enter readings");
    assert!(stop(&inside.body) && inside.body.contains("<title>STOP:"), "{}", inside.text());
    phone.answers(&inside, "back=1");
    let undone = phone.picks("What now?", "Undo the last entry");
    assert!(!stop(&undone.body), "{}", undone.text());
}

#[test]
fn a_job_goes_from_one_workshop_to_another_as_a_file() {
    let bench = Bench::with_van();
    let text = Bench::read(&bench.job("van"));
    let other = Bench::new();
    let served = Served::start(&other, &[]);
    let phone = served.first();
    let send = |content: &str| {
        let body = format!(
            "--x9\r\nContent-Disposition: form-data; name=\"job\"; filename=\"../../van.ron\"\r\n\r\n\
             {content}\r\n--x9--\r\n"
        );
        let (host, cookie) = (&served.host, &phone.cookie);
        let head = format!(
            "POST /take-in HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\n\
             Content-Type: multipart/form-data; boundary=x9\r\nContent-Length: {}\r\n\r\n",
            body.len()
        );
        served.raw((head + &body).as_bytes()).expect("an answer")
    };
    let got = send(&text);
    assert_eq!(got.status, 200, "{}", got.text());
    assert!(got.text().contains("It is kept as job"), "{}", got.text());
    assert_eq!(Bench::read(&other.job("job")), text);
    // The same again is nothing new, and another replaces nothing.
    let again = send(&text);
    assert!(again.status == 400 && again.text().contains("already, as job"), "{}", again.text());
    let changed = text.replacen("state: warm", "state: cold", 1).replacen("Warm", "Cold", 1);
    if changed != text {
        assert_eq!(send(&changed).status, 200);
        assert!(other.job("job-2").is_file());
    }
    assert_eq!(Bench::read(&other.job("job")), text);
    for bad in ["", "(", "no job", "(format: 999)", "\u{0}", &"(".repeat(5_000)] {
        let got = send(bad);
        assert_eq!(got.status, 400, "{bad:.20}: {}", got.text());
    }
}

#[test]
fn enter_gives_out_another_key_and_the_page_does_too() {
    let bench = Bench::new();
    let mut served = Served::start(&bench, &[]);
    writeln!(served.typed).expect("typed");
    let (_, second) = served.given();
    assert_ne!(served.key, second);
    let old = served.post("/in", "", &format!("key={}", served.key));
    assert_eq!(old.status, 403, "a newer key puts an older one out of use");
    let phone = served.admit(&second);
    let invited = phone.post("/invite", "");
    assert!(invited.body.contains("<svg class=\"qr\""), "{}", invited.body);
    let key = invited.text();
    let key = key.split("/in?key=").nth(1).and_then(|rest| rest.split(' ').next()).expect("a key");
    let tablet = served.admit(key);
    // Each has a session of its own.
    phone.begin();
    assert!(tablet.page().text().contains("The jobs, or a new one"));
    let gone = tablet.post("/forget", "");
    assert!(gone.header("Set-Cookie").is_some_and(|cookie| cookie.contains("Max-Age=0")));
    assert_eq!(tablet.get("/").status, 403);
    assert_eq!(phone.get("/").status, 200);
}

#[test]
fn a_session_is_ended_and_begun_again() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    phone.opens("Van", "512 505 441 509");
    assert_eq!(phone.post("/end", "").status, 303);
    let ended = phone.page().text();
    assert!(
        ended.contains("the job `van` is kept") || ended.contains("The job `van` is kept"),
        "{ended}"
    );
    let page = phone.begin();
    assert_eq!(page.question(), "Which job?");
    let list = page.options().into_iter().fold(String::new(), |mut list, (label, _)| {
        let _ = writeln!(list, "{label}");
        list
    });
    assert!(list.contains("van (open"), "{list}");
}
