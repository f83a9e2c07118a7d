//! Tampering that is named, and corrections.

use super::*;
use crate::{
    clock::Clock,
    storage::{
        audit::audit_of,
        records::list_records,
        testing::{SHOP, TestDatabase, call, noon, noon_time, task},
    },
};
use prost::Message as _;
use rstest::rstest;
use sea_orm::ConnectionTrait as _;
use std::fmt::Write as _;
use uuid::Uuid;

/// Three records, each noted in the audit trail as a real call does.
async fn shop_with_records() -> (TestDatabase, App) {
    let test = TestDatabase::open().await;
    let app = App::new(test.database.clone(), Clock::beginning_at(noon()));
    for attempt in 1..=3 {
        keep_record(&app, attempt).await;
    }
    (test, app)
}

async fn keep_record(app: &App, attempt: u32) {
    let kept = app.database.exactly_once(
        call(&Uuid::new_v4().to_string(), &attempt),
        attempt,
        |tx, attempt| {
            Box::pin(async move {
                let record = v1::ConditionsRecord {
                    shop_id: SHOP.to_owned(),
                    number: next_number(tx, SHOP).await?,
                    job_id: "J-1".to_owned(),
                    task: Some(task("front-camera")),
                    attempt: *attempt,
                    note: "gauge 4 of 4 at placard".to_owned(),
                    ended_time: Some(noon_time()),
                    ..v1::ConditionsRecord::default()
                };
                insert_record(tx, &record).await?;
                let reply = v1::FinishTaskResponse { record: Some(record.clone()) };
                let name = record.number.to_string();
                Ok(Done::new(reply).changed("record", name, None, Some(&record)))
            })
        },
    );
    kept.await.unwrap();
}

async fn verify(app: &App, from_number: u64, to_number: u64) -> v1::VerifyRecordsResponse {
    let request = v1::VerifyRecordsRequest { shop_id: SHOP.to_owned(), from_number, to_number };
    verify_records(app, request).await.unwrap()
}

/// Goes past the guards of the database, as somebody with the file at hand could.
async fn tamper(test: &TestDatabase, sql: &str) {
    let conn = test.database.writer();
    for trigger in ["conditions_records_never_change", "conditions_records_never_deleted"] {
        conn.execute_unprepared(&format!("DROP TRIGGER {trigger}")).await.unwrap();
    }
    let changed = conn.execute_unprepared(sql).await.unwrap().rows_affected();
    assert!(changed > 0, "{sql}");
}

#[rstest]
#[case::everything(0, 0, 3, 3)]
#[case::from_the_second_on(2, 0, 2, 3)]
#[case::the_second_alone(2, 2, 1, 2)]
#[case::behind_the_end(4, 0, 0, 0)]
#[tokio::test]
async fn an_untouched_chain_is_proved(
    #[case] from: u64,
    #[case] to: u64,
    #[case] checked: u64,
    #[case] last: u64,
) {
    let (_test, app) = shop_with_records().await;
    let proof = verify(&app, from, to).await;
    assert_eq!(proof.mismatch, None);
    assert_eq!((proof.checked_count, proof.last_number, proof.next_number), (checked, last, 0));
    assert_eq!(proof.last_hash.len(), if checked == 0 { 0 } else { 32 });
}

#[rstest]
#[case::the_body_of_another(
    "UPDATE conditions_records SET body =
        (SELECT body FROM conditions_records WHERE number = 3) WHERE number = 2",
    2,
    v1::RecordMisfit::Content
)]
#[case::a_body_that_cannot_be_read(
    "UPDATE conditions_records SET body = x'ff' WHERE number = 2",
    2,
    v1::RecordMisfit::Content
)]
#[case::another_hash(
    "UPDATE conditions_records SET hash = zeroblob(32) WHERE number = 2",
    2,
    v1::RecordMisfit::Content
)]
#[case::another_hash_before(
    "UPDATE conditions_records SET previous_hash = zeroblob(32) WHERE number = 3",
    3,
    v1::RecordMisfit::Link
)]
#[case::filed_elsewhere(
    "UPDATE conditions_records SET job_id = 'J-2' WHERE number = 1",
    1,
    v1::RecordMisfit::Key
)]
#[case::passed_off_as_a_correction(
    "UPDATE conditions_records SET corrects_number = 1 WHERE number = 2",
    2,
    v1::RecordMisfit::Key
)]
#[case::taken_out("DELETE FROM conditions_records WHERE number = 2", 2, v1::RecordMisfit::Missing)]
#[case::the_first_taken_out(
    "DELETE FROM conditions_records WHERE number = 1",
    1,
    v1::RecordMisfit::Missing
)]
#[case::the_end_cut_off(
    "DELETE FROM conditions_records WHERE number = 3",
    3,
    v1::RecordMisfit::Missing
)]
#[case::all_taken_out("DELETE FROM conditions_records", 1, v1::RecordMisfit::Missing)]
#[tokio::test]
async fn tampering_is_named_by_the_first_number_that_does_not_fit(
    #[case] sql: &str,
    #[case] number: u64,
    #[case] misfit: v1::RecordMisfit,
) {
    let (test, app) = shop_with_records().await;
    tamper(&test, sql).await;

    let proof = verify(&app, 0, 0).await;

    let named = proof.mismatch.unwrap();
    assert_eq!((named.number, named.misfit()), (number, misfit));
    assert!(named.sentence.contains(&number.to_string()));
    assert_eq!((proof.checked_count, proof.last_number), (number - 1, number - 1));
}

/// Whoever changes a record and gives it a fitting hash breaks the link of the next one; behind the
/// last one only a hash that was written down elsewhere shows it.
#[tokio::test]
async fn a_record_with_a_new_fitting_hash_breaks_the_next_link() {
    let (test, app) = shop_with_records().await;
    let before = verify(&app, 0, 0).await.last_hash;
    let mut second = load_record(test.database.reader(), SHOP, 2).await.unwrap().unwrap();
    second.note = "gauge 1 of 4".to_owned();
    let body = second.encode_to_vec();
    let first = verify(&app, 1, 1).await.last_hash;
    let hash = crate::storage::record_chain::record_hash(&first, 2, &body);
    let hex = |bytes: &[u8]| {
        bytes.iter().fold(String::new(), |mut text, byte| {
            write!(text, "{byte:02x}").unwrap();
            text
        })
    };
    let sql = format!(
        "UPDATE conditions_records SET body = x'{}', hash = x'{}' WHERE number = 2",
        hex(&body),
        hex(&hash)
    );
    tamper(&test, &sql).await;

    let named = verify(&app, 0, 0).await.mismatch.unwrap();

    assert_eq!((named.number, named.misfit()), (3, v1::RecordMisfit::Link));
    assert_eq!(verify(&app, 3, 3).await.mismatch.unwrap().number, 3);
    assert_eq!(before.len(), 32);
}

#[tokio::test]
async fn a_range_that_ends_before_it_begins_is_refused() {
    let (_test, app) = shop_with_records().await;
    let request =
        v1::VerifyRecordsRequest { shop_id: SHOP.to_owned(), from_number: 3, to_number: 2 };
    let refused = verify_records(&app, request).await.unwrap_err();
    assert!(matches!(refused, ServiceError::InvalidFields(_)), "{refused}");
}

#[tokio::test]
async fn another_shop_is_not_found() {
    let (_test, app) = shop_with_records().await;
    let request = v1::VerifyRecordsRequest { shop_id: "other".to_owned(), ..Default::default() };
    let refused = verify_records(&app, request).await.unwrap_err();
    assert!(matches!(refused, ServiceError::NotFound { kind: "shop", .. }), "{refused}");
}

#[tokio::test]
async fn a_chain_longer_than_a_page_is_proved() {
    let (_test, app) = shop_with_records().await;
    let records = u64::from(RECORDS_VERIFIED_AT_ONCE) + 5;
    for attempt in 4..=u32::try_from(records).unwrap() {
        keep_record(&app, attempt).await;
    }
    let proof = verify(&app, 0, 0).await;
    assert_eq!((proof.checked_count, proof.last_number), (records, records));
    assert_eq!(proof.mismatch, None);
}

fn correction(number: u64) -> v1::CorrectRecordRequest {
    v1::CorrectRecordRequest {
        shop_id: SHOP.to_owned(),
        number,
        reason: "the gauge of the other bay was read".to_owned(),
        statements: vec![v1::EvidenceStatement {
            subject: "prerequisite".to_owned(),
            sentence: "Gauge 3 of 4 at placard.".to_owned(),
            source: v1::EvidenceSource::Told.into(),
        }],
        request_id: Uuid::new_v4().to_string(),
        actor: "ruth".to_owned(),
    }
}

#[tokio::test]
async fn a_correction_is_a_new_record_and_the_old_one_stays() {
    let (test, app) = shop_with_records().await;
    let conn = test.database.reader();
    let old = load_record(conn, SHOP, 2).await.unwrap();

    let request = correction(2);
    let new = correct_record(&app, request.clone()).await.unwrap().record.unwrap();

    assert_eq!((new.number, new.attempt, new.job_id.as_str()), (4, 2, "J-1"));
    let said = new.correction.clone().unwrap();
    assert_eq!((said.corrects_number, said.actor.as_str()), (2, "ruth"));
    assert_eq!(
        (said.reason, new.statements.clone()),
        (request.reason.clone(), request.statements.clone())
    );
    assert_eq!(load_record(conn, SHOP, 2).await.unwrap(), old);
    let listed = list_records(conn, SHOP, ("J-1", Some("front-camera")), 0, 9).await.unwrap();
    assert_eq!(listed.last(), Some(&new));
    assert_eq!(verify(&app, 0, 0).await.checked_count, 4);
    let trail = audit_of(conn, SHOP, ("record", "4"), 0, 9).await.unwrap();
    assert_eq!((trail.len(), trail[0].method.as_str()), (1, "CorrectRecord"));

    // The same request again changes nothing and gives the same answer.
    let again = correct_record(&app, request).await.unwrap().record.unwrap();
    assert_eq!(again, new);
    assert_eq!(verify(&app, 0, 0).await.checked_count, 4);
}

#[tokio::test]
async fn a_correction_can_be_corrected() {
    let (_test, app) = shop_with_records().await;
    correct_record(&app, correction(1)).await.unwrap();
    let second = correct_record(&app, correction(4)).await.unwrap().record.unwrap();
    assert_eq!((second.number, second.correction.unwrap().corrects_number), (5, 4));
}

#[rstest]
#[case::no_reason(|r: &mut v1::CorrectRecordRequest| r.reason.clear(), "reason")]
#[case::a_long_reason(|r: &mut v1::CorrectRecordRequest| r.reason = "x".repeat(1_001), "reason")]
#[case::nothing_stated(|r: &mut v1::CorrectRecordRequest| r.statements.clear(), "statements")]
#[case::too_much_stated(
    |r: &mut v1::CorrectRecordRequest| r.statements = vec![r.statements[0].clone(); 51], "statements"
)]
#[case::no_subject(
    |r: &mut v1::CorrectRecordRequest| r.statements[0].subject.clear(), "statements[0].subject"
)]
#[case::an_empty_sentence(
    |r: &mut v1::CorrectRecordRequest| r.statements[0].sentence = " ".into(), "statements[0].sentence"
)]
#[case::computed(
    |r: &mut v1::CorrectRecordRequest| r.statements[0].source = v1::EvidenceSource::Computed.into(),
    "statements[0].source"
)]
#[case::nobody(|r: &mut v1::CorrectRecordRequest| r.actor.clear(), "actor")]
#[tokio::test]
async fn a_fault_of_a_correction_is_named(
    #[case] spoil: fn(&mut v1::CorrectRecordRequest),
    #[case] field: &str,
) {
    let (_test, app) = shop_with_records().await;
    let mut request = correction(1);
    spoil(&mut request);
    match correct_record(&app, request).await.unwrap_err() {
        ServiceError::InvalidFields(faults) => assert_eq!(faults.list()[0].field, field),
        other => panic!("{other}"),
    }
    assert_eq!(verify(&app, 0, 0).await.checked_count, 3);
}

#[rstest]
#[case::never_kept(9)]
#[case::zero(0)]
#[case::out_of_range(u64::MAX)]
#[tokio::test]
async fn what_is_corrected_must_be_there(#[case] number: u64) {
    let (_test, app) = shop_with_records().await;
    let refused = correct_record(&app, correction(number)).await.unwrap_err();
    assert!(matches!(refused, ServiceError::NotFound { kind: "record", .. }), "{refused}");
}
