//! From a decided job to the hand-over: grinding, treatment, the final check, the signature.

mod support;

use shop::{Draft, EntryKind, Row, Stage, Value, fresh_id};
use support::at_work::*;
use support::{Page, booked, id, open};

#[tokio::test]
async fn the_grinder_reads_what_to_grind_to_and_what_is_left() {
    let opened = open("grind").await;
    let job = decided(&opened).await;
    let page = opened.get(&format!("/jobs/{job}/grind")).await;
    page.says("K7Q")
        .says("0.010 in under")
        .says("Grind to <span class=\"fig\">2.1145</span>")
        .says("≈ 53.708 mm. Window <span class=\"fig\">2.1144–2.1146</span> in. Finished 2.1145–2.1150 in (≈ 53.708–53.721 mm).")
        .says("mic 2-3 (0.0001 low) shows 2.1143–2.1145.")
        .says("84 in 100 finish within limits; the growth is the largest part of the rest.")
        // Largest 1.8742 less 1.8545.
        .says("<th scope=\"row\">Pin 4</th><td class=\"fig\">1.8742</td><td class=\"fig\">0.0197</td>")
        .says("runs out 0.0014 in, high less low, high at 80° from the first throw")
        .says("scoring 0.0010 to 0.0030 in deep, likeliest 0.0020")
        .says("1.5000 in, half the stroke, within 0.0020 in")
        .says("2.1144–2.1146")
        .says("1.8544–1.8546")
        .says("1.8546 in on the 1–2: sleeve 8, two lines, thimble 4, vernier 6")
        .says("0.090–0.110 in")
        .says("Stop and tell us if any journal has not cleaned up.");
    // 1.8628 on a micrometer that reads 0.0001 high is 1.8627: far above the rough size 1.8585.
    let page = grind(&opened, job, "pin 1", "rough", "mic 1-2", "1.8628").await;
    page.says("1.8627 (1.8628 on mic 1-2, less its zero)").says("to come off to the rough size 1.8585.");
    // What has more to come off stays in the machine.
    page.says("<option value=\"pin 1\" selected>");
    // 1.8541 is 1.8540: 0.0004 under 1.8544.
    let page = grind(&opened, job, "pin 1", "grind", "mic 1-2", "1.8541").await;
    page.says("0.0004 under the grind window 1.8544–1.8546: stop.").says("class=\"panel answer stop\"");
    // What the micrometer cannot tell is counted in the chance beside the window.
    let page = grind(&opened, job, "pin 2", "grind", "mic 1-2", "1.8545").await;
    page.says("Inside the grind window 1.8544–1.8546, as far as mic 1-2 can tell").lacks("panel answer look");
    page.says("<option value=\"pin 3\" selected>");
    // Sleeve 8, two lines, thimble 4, vernier 5 is the same reading.
    let page = grind(&opened, job, "pin 3", "grind", "mic 1-2", "82045").await;
    page.says("1.8544 (1.8545 on mic 1-2, less its zero)");
    assert_eq!(state(&opened, job).await.ground.len(), 4);
}

#[tokio::test]
async fn a_reading_that_is_none_comes_back_and_one_sent_twice_is_one() {
    let opened = open("grind-faults").await;
    let job = decided(&opened).await;
    for (size, says) in [
        ("about right", "Reading must be a number"),
        ("1.86", "Reading must have four decimals for this micrometer"),
        ("2.8545", "2.8545 is outside this micrometer&#39;s 1–2 in."),
        ("", "Reading must be a number"),
    ] {
        let page = grind(&opened, job, "pin 1", "rough", "mic 1-2", size).await;
        page.came_back().says(says).says(&format!("value=\"{size}\""));
    }
    let page = grind(&opened, job, "pin 9", "rough", "mic 1-2", "1.8628").await;
    page.came_back().says("Choose a journal that is ground");
    assert!(state(&opened, job).await.ground.is_empty());
    let (id, seen) = (id(), state(&opened, job).await.seq.to_string());
    let fields = [("id", id.as_str()), ("seen", &seen), ("journal", "pin 1"), ("stage", "rough"), ("with", "mic 1-2")];
    let fields = [fields.as_slice(), &[("size", "1.8628")]].concat();
    for _ in 0..2 {
        assert!(gone(&opened.post(&format!("/jobs/{job}/grind"), &fields).await).contains(&id));
    }
    assert_eq!(state(&opened, job).await.ground.len(), 1);
}

#[tokio::test]
async fn whether_it_cleaned_up_stands_beside_the_chance_that_was_told() {
    let opened = open("cleaned").await;
    let job = decided(&opened).await;
    let page = send(&opened, job, "grind/cleaned", &[("clean-pin-2", "no")]).await;
    page.came_back().says("Pin 2: say where it did not clean up");
    let page = send(&opened, job, "grind/cleaned", &[("left-pin-2", "rear")]).await;
    page.came_back().says("Pin 2: answer whether it cleaned up.");
    send(&opened, job, "grind/cleaned", &[]).await.came_back();
    gone(&send(&opened, job, "grind/cleaned", &[("clean-pin-2", "no"), ("left-pin-2", "rear, at the radius")]).await);
    let page = opened.get(&format!("/jobs/{job}/grind")).await;
    page.says("Pin 2 did not clean up: rear, at the radius.");
    page.says("Pins: our chance of cleaning up at 0.020 was 97 in 100; Pin 2 did not.");
    clean_up(&opened, job).await;
    let page = opened.get(&format!("/jobs/{job}/grind")).await;
    page.says("Mains: our chance of cleaning up at 0.010 was 97 in 100; they did.");
    page.lacks("did not clean up:");
}

#[tokio::test]
async fn a_batch_takes_several_cranks_and_tells_their_growth() {
    let opened = open("batch").await;
    let job = decided(&opened).await;
    let other = booked(&opened, "C-9", "A. Miller").await;
    grind(&opened, job, "main 1", "before treatment", "mic 2-3", "2.1141").await;
    grind(&opened, job, "pin 1", "before treatment", "mic 1-2", "1.8544").await;
    let batch = id();
    let fields = [("id", batch.as_str()), ("name", "N 31/b"), ("treatment", "nitriding"), ("treater", "Vale Heat")];
    opened.post("/batches", &fields[..2]).await.came_back().says("Enter who treats it.");
    for _ in 0..2 {
        assert_eq!(gone(&opened.post("/batches", &fields).await), "/batches/N%2031%2Fb");
    }
    let path = "/batches/N%2031%2Fb";
    opened.get(path).await.says("No crank is in it yet.").says(&format!("Job {job}, Tarn four")).says("2 sizes");
    let numbers = format!("{job}, {other}");
    let page = opened.post(&format!("{path}/add"), &[("id", &id()), ("numbers", &numbers)]).await;
    page.came_back().says(&format!("Job {other} is at")).says("it is not ground yet");
    assert!(state(&opened, job).await.treatments.is_empty(), "all of them or none");
    let (name, number) = (id(), job.to_string());
    for _ in 0..2 {
        gone(&opened.post(&format!("{path}/add"), &[("id", &name), ("job", &number)]).await);
    }
    let now = state(&opened, job).await;
    assert_eq!((now.stage, now.treatments.len(), now.treatments[0].before.len()), (Stage::AtTreatment, 1, 2));
    let page = opened.post(&format!("{path}/close"), &[("id", &id())]).await;
    page.came_back().says(&format!("Still away: job {job}."));
    let page = send(&opened, job, "treatment/back", &[("size-main-1", "2.1"), ("size-pin-1", "1.8549")]).await;
    page.came_back().says("Main 1: Reading must have four decimals").says("value=\"1.8549\"");
    // Before: 2.1142 and 1.8543 without the zeros. After: 2.1147 and 1.8548.
    gone(&send(&opened, job, "treatment/back", &[("size-main-1", "2.1146"), ("size-pin-1", "1.8549")]).await);
    let page = opened.get(&format!("/jobs/{job}/treatment")).await;
    page.says("Growth found: 0.0005 in on average over 2 journals, from 0.0005 to 0.0005.");
    page.says("The plan assumed 0.0005, give or take 0.0002: this is inside it.");
    gone(&opened.post(&format!("{path}/close"), &[("id", &id())]).await);
    opened.get(path).await.says("This batch is closed.");
    opened.get("/batches").await.lacks("N 31/b");
    assert_eq!(opened.get("/batches/none").await.status, 404);
}

#[tokio::test]
async fn a_crank_that_did_not_go_comes_out_of_the_batch() {
    let opened = open("batch-out").await;
    let job = decided(&opened).await;
    let fields = [("id", &*id()), ("name", "N-32"), ("treatment", "nitriding"), ("treater", "Vale Heat")];
    gone(&opened.post("/batches", &fields).await);
    send(&opened, job, "treatment/send", &[("batch", "")]).await.came_back().says("Choose the batch");
    gone(&send(&opened, job, "treatment/send", &[("batch", "N-32"), ("size-pin-1", "1.8544")]).await);
    assert_eq!(state(&opened, job).await.treatments[0].before.len(), 1);
    gone(&send(&opened, job, "treatment/out", &[]).await);
    let now = state(&opened, job).await;
    assert_eq!((now.stage, now.treatments.len()), (Stage::AtTheGrinder, 0));
}

#[tokio::test]
async fn an_old_sheet_is_stopped_before_anything_is_measured() {
    let opened = open("code").await;
    let job = decided(&opened).await;
    let kind = EntryKind::Decision {
        set: "pin".into(),
        choice: "0.030".into(),
        overruled: Some("shells in stock".into()),
        verdict: String::new(),
    };
    write(&opened, job, kind).await;
    issue(&opened, job, "M4P", Some("K7Q")).await;
    let page = opened.post(&format!("/jobs/{job}/final/code"), &[("code", "k7q")]).await;
    page.came_back()
        .says("Sheet K7Q was replaced by M4P at")
        .says("The pins changed from 0.020 in under to 0.030 in under.");
    let page = opened.post(&format!("/jobs/{job}/final/code"), &[("code", "XYZ")]).await;
    page.came_back().says(&format!("Job {job} has no sheet XYZ."));
    opened
        .post(&format!("/jobs/{job}/final/code"), &[("code", "")])
        .await
        .came_back()
        .says("Enter the three-character code");
    let page = opened.post(&format!("/jobs/{job}/final/code"), &[("code", "m4p")]).await;
    assert_eq!(gone(&page), format!("/jobs/{job}/final?code=M4P"));
    // A page that was open when the sheet was replaced takes nothing more.
    let page = check(&opened, job, "pin-1.front.a", "1.8549").await;
    page.came_back().says("Sheet K7Q was replaced by M4P at");
    assert!(state(&opened, job).await.final_readings.is_empty());
}

#[tokio::test]
async fn the_check_is_blind_and_only_what_is_surely_inside_passes() {
    let opened = open("blind").await;
    let job = decided(&opened).await;
    let page = opened.get(&format!("/jobs/{job}/final?code=K7Q")).await;
    page.says("Main 1, front, across A").lacks("2.1145").lacks("2.1150").lacks("1.8545").says("0 of 54 spots inside");
    // 2.1152 on a micrometer that reads 0.0001 low is 2.1153.
    let page = check(&opened, job, "main-1.front.a", "2.1152").await;
    page.says("2.1153 (2.1152 on mic 2-3, less its zero), outside 2.1145–2.1150: 0.0003 over").says("1 outside");
    page.says("<h2 id=\"measure\">Main 1, middle, across A</h2>").says("Back to the grinder");
    // On the limit itself the micrometer cannot tell, and that is no pass.
    let page = check(&opened, job, "main-1.front.a", "2.1144").await;
    page.says("cannot tell: on a limit of 2.1145–2.1150. mic 2-3 cannot settle it.").says("1 cannot tell");
    let page = check(&opened, job, "main-1.front.a", "2.1147").await;
    page.says("2.1148 (2.1147 on mic 2-3, less its zero), inside 2.1145–2.1150")
        .says("1 of 54 spots inside, 53 to measure");
    page.says("before that 2.1152, 2.1144");
    let now = state(&opened, job).await;
    assert_eq!(now.final_readings.len(), 1, "measured again takes the place of what was there");
    let page = opened.get(&format!("/jobs/{job}/drawings?show=sizes")).await;
    page.says("Mains: before and after").says("Limits 2.1145 to 2.1150.").says("→ 2.1148; Main 2: ");
    // Ground again, it must be measured again.
    grind(&opened, job, "main 1", "grind", "mic 2-3", "2.1146").await;
    let page = opened.get(&format!("/jobs/{job}/final?code=K7Q")).await;
    page.says("taken before it was ground again").says("0 of 54 spots inside");
    gone(&send(&opened, job, "final/back", &[]).await);
    assert_eq!(state(&opened, job).await.stage, Stage::AtTheGrinder);
}

#[tokio::test]
async fn a_micrometer_that_is_too_coarse_says_so() {
    let opened = open("coarse").await;
    let job = decided(&opened).await;
    let row = Value::from_text("name = \"mic thou\"\nrange = [1.0, 2.0]\ngraduation = 0.001\n").expect("a micrometer");
    write(&opened, job, EntryKind::Instrument { row }).await;
    let fields = [("code", "K7Q"), ("spot", "pin-1.front.a"), ("with", "mic thou"), ("size", "1.855")];
    let page = send(&opened, job, "final", &fields).await;
    let page = opened.get(page.to.split('#').next().unwrap_or_default()).await;
    page.says("mic thou is too coarse for limits this close. Use a finer one.").says("1 cannot tell");
    // A finer one of the shop's is taken up by measuring with it.
    let row =
        Value::from_text("name = \"mic fine\"\nrange = [1.0, 2.0]\ngraduation = 0.00005\n").expect("a micrometer");
    let kind = shop::ShopKind::Instrument { row };
    let draft = Draft::new(fresh_id().expect("random numbers"), "Pat", "2026-11-25T10:00:00Z", kind);
    let seen = opened.store.shop_seq().await.expect("the shop's log");
    opened.store.append_to_shop(seen, &[draft]).await.expect("a micrometer of the shop");
    let fields = [("code", "K7Q"), ("spot", "pin-1.front.a"), ("with", "mic fine"), ("size", "1.85480")];
    let page = send(&opened, job, "final", &fields).await;
    opened.get(page.to.split('#').next().unwrap_or_default()).await.says("1.8548, inside 1.8545–1.8550");
    let taken = state(&opened, job).await.final_readings[0].row.row.words("with").map(str::to_owned);
    assert_eq!(taken.as_deref(), Some("mic fine"));
}

#[tokio::test]
async fn what_stands_against_a_signature_is_told_each_time() {
    let opened = open("obstacles").await;
    let job = decided(&opened).await;
    let page = sign(&opened, job, &[]).await;
    assert_eq!(page.status, 422);
    page.says("54 spots are not measured.")
        .says("Pin 4: nobody said whether it cleaned up.")
        .says("Radius: not answered.");
    clean_up(&opened, job).await;
    check_all(&opened, job).await;
    gone(&look(&opened, job, &EYES[..3], "passed").await);
    gone(&look(&opened, job, &EYES[4..], "passed").await);
    let refused = |page: &Page, says: &str| {
        assert_eq!(page.status, 422, "{}", page.text);
        page.says(says);
    };
    refused(&sign(&opened, job, &[]).await, "Not signed. Crack test: not answered.");
    look(&opened, job, &["crack-test"], "not-passed").await.came_back().says("Crack test: say what is wrong with it.");
    look(&opened, job, &["radius"], "not-done").await.came_back().says("Radius: choose one of the answers.");
    gone(&look(&opened, job, &["crack-test"], "passed").await);
    check(&opened, job, "pin-2.rear.b", "1.8553").await;
    refused(&sign(&opened, job, &[]).await, "Pin 2, rear, across B: 1.8552");
    check(&opened, job, "pin-2.rear.b", "1.8551").await;
    refused(&sign(&opened, job, &[]).await, "cannot tell");
    check(&opened, job, "pin-2.rear.b", "1.8549").await;
    gone(&send(&opened, job, "grind/cleaned", &[("clean-main-3", "no"), ("left-main-3", "rear")]).await);
    refused(&sign(&opened, job, &[]).await, "Not signed. Main 3 did not clean up.");
    assert_eq!(state(&opened, job).await.signed_off, None);
}

#[tokio::test]
async fn a_signed_job_is_frozen_and_opens_again_as_the_next_revision() {
    let opened = open("signed").await;
    let job = ready_to_sign(&opened).await;
    gone(&look(&opened, job, &["crack-test"], "not-done").await);
    let page = opened.get(&format!("/jobs/{job}/final?code=K7Q")).await;
    page.says("I measured these 54 spots after grinding, and all are inside the sizes on sheet K7Q.");
    page.says("No crack test was done.").says("It was not treated after grinding (nitriding).");
    page.says("the shop also ground it.");
    let left = [("left-crack-test", "yes"), ("left-treatment", "yes")];
    sign(&opened, job, &[]).await.came_back().says("Tick it to sign without: No crack test was done.");
    // Another name than that of whoever works here.
    let hash = state(&opened, job).await.frozen_hash();
    let fields = [("code", "K7Q"), ("hash", hash.as_str()), ("name", "Sam"), left[0], left[1]];
    send(&opened, job, "final/sign", &fields).await.came_back().says("the shop is working at this screen.");
    // A page that is older than the job signs nothing.
    let seen = (state(&opened, job).await.seq - 1).to_string();
    let old =
        [("id", &*id()), ("seen", &seen), ("code", "K7Q"), ("hash", &hash), ("name", "the shop"), left[0], left[1]];
    let page = opened.post(&format!("/jobs/{job}/final/sign"), &old).await;
    assert_eq!(page.status, 409, "{}", page.text);
    assert_eq!(state(&opened, job).await.signed_off, None);
    // Nor one that shows another record than there is.
    let fields = [("code", "K7Q"), ("hash", "00"), ("name", "the shop"), left[0], left[1]];
    let page = send(&opened, job, "final/sign", &fields).await;
    assert_eq!(page.status, 422);
    page.says("The job has changed since this page was made.");
    gone(&sign(&opened, job, &left).await);
    let first = state(&opened, job).await;
    assert_eq!((first.stage, first.revision), (Stage::Ready, 1));
    // Signed, it stays as it is.
    let page = check(&opened, job, "main-1.front.a", "2.1148").await;
    assert_eq!(page.status, 422);
    page.says("The job is signed off, and what was signed stays as it is.");
    let page = grind(&opened, job, "main 1", "grind", "mic 2-3", "2.1146").await;
    assert_eq!(page.status, 422);
    opened.get(&format!("/jobs/{job}/grind")).await.says("This job is signed off.").lacks("Save the reading");
    send(&opened, job, "final/reopen", &[]).await.came_back().says("Say why it is opened again.");
    gone(&send(&opened, job, "final/reopen", &[("reason", "customer asked for a crack test")]).await);
    gone(&look(&opened, job, &["crack-test"], "passed").await);
    gone(&sign(&opened, job, &[("left-treatment", "yes")]).await);
    let second = state(&opened, job).await;
    assert_eq!((second.stage, second.revision), (Stage::Ready, 2));
    let page = opened.get(&format!("/jobs/{job}/signed/1")).await;
    page.says("This revision is no longer in force")
        .says("not done, by Sam")
        .says("The record below is the one that was signed.");
    let page = opened.get(&format!("/jobs/{job}/signed/2")).await;
    page.says("passed, by Sam").lacks("no longer in force").says("The record below is the one that was signed.");
    assert_eq!(opened.get(&format!("/jobs/{job}/signed/3")).await.status, 404);
    opened.get(&format!("/jobs/{job}/final")).await.says("Revision 1,").says("Signed off, revision 2");
    send(&opened, job, "hand-over", &[("to", " ")]).await.came_back().says("Enter who takes it.");
    gone(&send(&opened, job, "hand-over", &[("to", "A. Miller")]).await);
    assert_eq!(state(&opened, job).await.stage, Stage::Collected);
    opened.get(&format!("/jobs/{job}/hand-over")).await.says("Handed over to A. Miller.");
}

#[tokio::test]
async fn an_unsigned_crank_is_not_handed_over() {
    let opened = open("unsigned").await;
    let job = decided(&opened).await;
    opened.get(&format!("/jobs/{job}/hand-over")).await.says("The crank is not signed off yet.");
    let page = send(&opened, job, "hand-over", &[("to", "A. Miller")]).await;
    assert_eq!(page.status, 409);
    assert_eq!(state(&opened, job).await.handed_over, None);
}

/// Journals that are left alone are held to what they were ground to before, down to the wear limit where there is one.
#[tokio::test]
async fn journals_left_alone_are_checked_against_what_they_are_held_to() {
    let opened = open("left-alone").await;
    let job = booked(&opened, "C-1", "A. Miller").await;
    for page in ["grind", "treatment", "final"] {
        opened.get(&format!("/jobs/{job}/{page}")).await.says("Nothing is measured on this crank yet.");
    }
    for (journal, size) in [("main 1", "1.4995"), ("main 2", "1.4994"), ("pin 1", "1.2495")] {
        let row = Value::table([
            ("journal", Value::from(journal)),
            ("at", Value::from("front")),
            ("plane", Value::typed("0")),
            ("size", Value::typed(size)),
        ]);
        write(&opened, job, EntryKind::Reading(Row::typed(row))).await;
    }
    for set in ["main", "pin"] {
        let (choice, verdict) = ("leave".to_owned(), String::new());
        write(&opened, job, EntryKind::Decision { set: set.into(), choice, overruled: None, verdict }).await;
    }
    let page = opened.get(&format!("/jobs/{job}/treatment")).await;
    page.says("The specification has no treatment after grinding").says("it is not ground yet");
    // No sheet went to a grinder, so no code is asked for.
    let page = opened.get(&format!("/jobs/{job}/final")).await;
    page.says("Main 1, front, across A").lacks("Code of the sheet");
    let fields = [("spot", "main-1.front.a"), ("size", "1.4995")];
    let page = send(&opened, job, "final", &fields).await;
    opened.get(page.to.split('#').next().unwrap_or_default()).await.says("1.4995, inside 1.4990–1.5000");
    opened.get(&format!("/jobs/{job}/grind")).await.says("No sheet for the grinder was issued yet.");
}

/// A journal that is left alone may be as far out of round as one in use; the limit when new is for what was ground.
#[tokio::test]
async fn a_journal_left_alone_is_held_to_the_wear_limit_of_form() {
    for (name, wear, is_said) in
        [("work-new-limit", "", true), ("work-wear-limit", "wear_limit = { out_of_round = 0.0005 }", false)]
    {
        let opened = open(name).await;
        let job =
            decided_by(&opened, &TARN.replace("out_of_round = 0.0005", &format!("out_of_round = 0.0001\n{wear}")))
                .await;
        let (choice, verdict) = ("leave".to_owned(), String::new());
        write(&opened, job, EntryKind::Decision { set: "pin".into(), choice, overruled: None, verdict }).await;
        check(&opened, job, "pin-1.front.a", "1.8700").await;
        check(&opened, job, "pin-1.front.b", "1.8703").await;
        // A ground set is held to the limit when new all the same.
        check(&opened, job, "main-1.front.a", "2.1147").await;
        check(&opened, job, "main-1.front.b", "2.1150").await;
        let page = sign(&opened, job, &[]).await;
        assert_eq!(page.status, 422, "{}", page.text);
        page.says("Main 1: 0.0003 in out of round, over the 0.0001 in of the manual.");
        let over = page.text.contains("Pin 1: 0.0003 in out of round, over the 0.0001 in of the manual.");
        assert_eq!(over, is_said, "{name}:\n{}", page.text);
    }
}

/// Sizes that are all inside do not make a journal round: 1.8546 and 1.8549 in differ by 0.0003, and the book allows 0.0001.
#[tokio::test]
async fn a_journal_that_is_out_of_round_is_not_signed() {
    let opened = open("work-round").await;
    let job = decided_by(&opened, &TARN.replace("out_of_round = 0.0005", "out_of_round = 0.0001")).await;
    clean_up(&opened, job).await;
    gone(&send(&opened, job, "grind/done", &[]).await);
    check_all(&opened, job).await;
    gone(&look(&opened, job, &EYES, "passed").await);
    sign(&opened, job, &[]).await.lacks("out of round, over");
    check(&opened, job, "pin-1.front.b", "1.8550").await;
    check(&opened, job, "pin-1.front.a", "1.8547").await;
    let page = sign(&opened, job, &[("left-treatment", "yes")]).await;
    assert_eq!(page.status, 422);
    page.says("Pin 1: 0.0003 in out of round, over the 0.0001 in of the manual.");
    assert!(state(&opened, job).await.signed_off.is_none());
}
