//! Builders for the tests of storage and of what stands on it.

use super::{
    Call, CallParts, Database, Settings,
    jobs::{load_job, save_job},
    shops::put_shop,
};
use baywright_api::v1::{Holding, Job, JobState, Shop, Task, TaskKind, TaskState};
use chrono::{DateTime, Utc};
use prost::Message;
use prost_types::Timestamp;
use sea_orm::ConnectionTrait;
use std::path::PathBuf;
use tempfile::TempDir;

/// The shop of every test.
pub(crate) const SHOP: &str = "test-shop";

/// A database in a folder of its own, with the shop in it.
pub(crate) struct TestDatabase {
    pub(crate) database: Database,
    pub(crate) folder: TempDir,
}

impl TestDatabase {
    pub(crate) async fn open() -> Self {
        Self::open_with(Settings::default()).await
    }

    pub(crate) async fn open_with(settings: Settings) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("shop.db");
        let database = Database::open_with(&path, settings).await.unwrap();
        let shop = Shop { shop_id: SHOP.to_owned(), ..Shop::default() };
        put_shop(database.writer(), &shop, noon()).await.unwrap();
        Self { database, folder }
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("shop.db")
    }
}

/// The instant of most tests.
pub(crate) fn noon() -> DateTime<Utc> {
    "2026-03-02T12:00:00Z".parse().unwrap()
}

/// The same as a message of the contract.
pub(crate) fn noon_time() -> Timestamp {
    Timestamp { seconds: noon().timestamp(), nanos: 0 }
}

/// A job on site with one open calibration, promised `promise_minutes` after noon.
pub(crate) fn job(job_id: &str, promise_minutes: i64) -> Job {
    let promise = Timestamp { seconds: noon().timestamp() + promise_minutes * 60, nanos: 0 };
    Job {
        shop_id: SHOP.to_owned(),
        job_id: job_id.to_owned(),
        state: JobState::OnSite.into(),
        promise_time: Some(promise),
        tasks: vec![task("front-camera")],
        ..Job::default()
    }
}

/// An open calibration.
pub(crate) fn task(task_id: &str) -> Task {
    Task {
        task_id: task_id.to_owned(),
        kind: TaskKind::Calibration.into(),
        state: TaskState::Open.into(),
        ..Task::default()
    }
}

/// Keeps a new job and reads it back.
pub(crate) async fn keep(conn: &impl ConnectionTrait, mut job: Job) -> Job {
    save_job(conn, &mut job, None).await.unwrap();
    load_job(conn, SHOP, &job.job_id).await.unwrap().unwrap()
}

/// A first attempt at the calibration of a job by a technician with a unit.
pub(crate) fn holding(job_id: &str, technician_id: &str, unit_id: &str) -> Holding {
    Holding {
        shop_id: SHOP.to_owned(),
        job_id: job_id.to_owned(),
        task_id: "front-camera".to_owned(),
        attempt: 1,
        technician_id: technician_id.to_owned(),
        technician_ids: vec![technician_id.to_owned()],
        unit_ids: vec![unit_id.to_owned()],
        pulled_time: Some(noon_time()),
        ..Holding::default()
    }
}

/// A call of the method `Test` with this request id and body.
pub(crate) fn call(request_id: &str, body: &impl Message) -> Call {
    let parts =
        CallParts { shop_id: SHOP, method: "Test", request_id, actor: "Tester", at: noon() };
    Call::new(parts, body).unwrap()
}
