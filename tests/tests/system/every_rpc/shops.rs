//! Two shops in one service: the own one, and a foreign one with the same things under other names.

use super::{paths, wire};
use baywright_api::{CONTRACT_DESCRIPTOR_SET, v1};
use baywright_tests::system::{
    Caller, Refusal, SHOP, TestService, definition, estimate, key_of, new_request_id, survey,
};
use prost::Message;
use prost_reflect::{DescriptorPool, DynamicMessage, MethodDescriptor};
use sqlx::{Connection as _, SqliteConnection, sqlite::SqliteConnectOptions};
use std::{
    collections::BTreeSet,
    sync::atomic::{AtomicUsize, Ordering},
};
use tokio::sync::Mutex;
use tonic::Status;

/// What the names and titles of the foreign shop begin with; nothing of the own shop has it.
pub(super) const FOREIGN: &str = "foreign-";
/// More offers than the own shop makes, so that the last one's name is nobody's there.
const FOREIGN_OFFERS: usize = 9;

/// Both shops, and the file that keeps them.
pub(super) struct Shops {
    /// Kept so that the service lives as long.
    service: TestService,
    pub(super) caller: Caller,
    pub(super) contract: DescriptorPool,
    file: Mutex<SqliteConnection>,
    jobs: AtomicUsize,
    /// Fencing number of what is held in the foreign shop.
    pub(super) foreign_fence: u64,
}

pub(super) fn shop() -> String {
    SHOP.to_owned()
}

pub(super) fn actor() -> String {
    "Mia (invented)".to_owned()
}

/// The own shop: both technicians can do everything, and its accounts are listed.
pub(super) fn own_definition() -> v1::ShopDefinition {
    let mut definition = definition();
    let roles: BTreeSet<_> =
        definition.technicians.iter().flat_map(|one| one.role_ids.clone()).collect();
    for technician in &mut definition.technicians {
        technician.role_ids = roles.iter().cloned().collect();
    }
    definition.accounts = vec![v1::Account {
        account_id: "account-1".to_owned(),
        title: "An account (invented)".to_owned(),
        party: String::new(),
    }];
    definition
}

impl Shops {
    pub(super) async fn open() -> Self {
        let service = TestService::start().await;
        let caller = service.caller();
        caller.set_up(own_definition()).await;
        let options = SqliteConnectOptions::new().filename(service.database()).read_only(true);
        let file = Mutex::new(SqliteConnection::connect_with(&options).await.unwrap());
        let contract = DescriptorPool::decode(CONTRACT_DESCRIPTOR_SET).unwrap();
        let jobs = AtomicUsize::new(0);
        let mut shops = Self { service, caller, contract, file, jobs, foreign_fence: 0 };
        shops.open_foreign().await;
        shops
    }

    pub(super) fn method(&self, rpc: &str) -> MethodDescriptor {
        let (service, method) = rpc.split_once('/').unwrap();
        let service = self.contract.get_service_by_name(&format!("baywright.v1.{service}"));
        service.unwrap().methods().find(|one| one.name() == method).unwrap()
    }

    pub(super) async fn send(
        &self,
        method: &MethodDescriptor,
        request: &DynamicMessage,
    ) -> Result<Vec<u8>, Status> {
        wire::call(self.service.channel(), method, request).await
    }

    /// Changes whenever anything at all was written to the database file.
    pub(super) async fn version(&self) -> i64 {
        let mut file = self.file.lock().await;
        sqlx::query_scalar("PRAGMA data_version").fetch_one(&mut *file).await.unwrap()
    }

    /// The request as the foreign shop would send it: every name and title is another.
    fn as_foreign(request: &mut DynamicMessage) {
        paths::each_text(request, &|field, text| {
            let names = field.ends_with("_id") || field.ends_with("_ids");
            let named = names || ["title", "repair_order", "reference", "party"].contains(&field);
            if named && field != "request_id" && field != "offer_id" && !text.is_empty() {
                text.insert_str(0, FOREIGN);
            }
        });
    }

    async fn send_foreign<R: Message + Default>(&self, rpc: &str, request: &impl Message) -> R {
        let method = self.method(rpc);
        let bytes = request.encode_to_vec();
        let mut request = DynamicMessage::decode(method.input(), bytes.as_slice()).unwrap();
        Self::as_foreign(&mut request);
        let answer = self.send(&method, &request).await;
        let answer = answer.unwrap_or_else(|status| panic!("{rpc}: {status:?}"));
        R::decode(answer.as_slice()).unwrap()
    }

    async fn open_foreign(&mut self) {
        let (request_id, actor) = (new_request_id, actor());
        let definition = own_definition();
        let bays = definition.bays.clone();
        let apply = v1::ApplyShopRequest {
            definition: Some(definition),
            request_id: request_id(),
            actor: actor.clone(),
            validate_only: false,
        };
        self.send_foreign::<v1::ApplyShopResponse>("ShopService/ApplyShop", &apply).await;
        for bay in &bays {
            let record = v1::RecordSurveyRequest {
                shop_id: shop(),
                survey: Some(survey(bay)),
                request_id: request_id(),
                actor: actor.clone(),
            };
            self.send_foreign::<v1::RecordSurveyResponse>("SurveyService/RecordSurvey", &record)
                .await;
        }
        for index in 0..FOREIGN_OFFERS {
            let make = v1::MakeOfferRequest {
                shop_id: shop(),
                estimate: Some(estimate(&format!("offered-{index}"), &["unheard-of"])),
                request_id: request_id(),
                actor: actor.clone(),
                ..v1::MakeOfferRequest::default()
            };
            self.send_foreign::<v1::MakeOfferResponse>("OfferService/MakeOffer", &make).await;
        }
        let submit = v1::SubmitEstimateRequest {
            shop_id: shop(),
            estimate: Some(estimate("J-1", &["bumper-removed"])),
            request_id: request_id(),
            actor: actor.clone(),
            validate_only: false,
        };
        let _job: v1::SubmitEstimateResponse =
            self.send_foreign("JobService/SubmitEstimate", &submit).await;
        let accept = v1::DecideTasksRequest {
            shop_id: shop(),
            job_id: "J-1".to_owned(),
            accept_all: true,
            request_id: request_id(),
            actor: actor.clone(),
            ..v1::DecideTasksRequest::default()
        };
        let _job: v1::DecideTasksResponse =
            self.send_foreign("JobService/DecideTasks", &accept).await;
        let arrive = v1::RecordArrivalRequest {
            shop_id: shop(),
            job_id: "J-1".to_owned(),
            spot_id: "yard".to_owned(),
            request_id: request_id(),
            actor,
            ..v1::RecordArrivalRequest::default()
        };
        let _job: v1::RecordArrivalResponse =
            self.send_foreign("JobService/RecordArrival", &arrive).await;
        let pull = v1::PullTaskRequest {
            shop_id: shop(),
            technician_id: "ana".to_owned(),
            request_id: request_id(),
        };
        let pulled: v1::PullTaskResponse = self.send_foreign("WorkService/PullTask", &pull).await;
        self.foreign_fence = pulled.holding.unwrap().fence;
    }

    /// The name of a job that nobody has used.
    pub(super) fn new_job_id(&self) -> String {
        format!("J-{}", self.jobs.fetch_add(1, Ordering::SeqCst) + 100)
    }

    /// A job with its tasks proposed.
    pub(super) async fn proposed_job(&self) -> v1::Job {
        self.caller.submit(estimate(&self.new_job_id(), &["bumper-removed"])).await.unwrap()
    }

    /// An expected job with its tasks open.
    pub(super) async fn expected_job(&self) -> v1::Job {
        let job = self.proposed_job().await;
        self.caller.accept_all(&job.job_id).await.unwrap()
    }

    /// A job on site with its tasks open and what is asked ahead signed off.
    pub(super) async fn job_on_site(&self) -> v1::Job {
        self.caller.bring_in(estimate(&self.new_job_id(), &["bumper-removed"])).await
    }

    /// Lets go of everything that is held in the own shop.
    pub(super) async fn put_everything_back(&self) {
        for holding in self.caller.holdings().await {
            self.caller.put_back(&holding).await.unwrap();
        }
    }

    /// A scan that ana has pulled just now; calibrations that come before it are done.
    pub(super) async fn held(&self) -> v1::Holding {
        self.put_everything_back().await;
        self.job_on_site().await;
        loop {
            let held = self.caller.pull("ana").await.unwrap();
            if held.place.is_none() {
                return held;
            }
            let running = self.caller.begin(&held).await.unwrap();
            self.caller.finish(&running).await.unwrap();
            self.caller.move_out(&held.job_id).await.unwrap();
        }
    }

    /// What ana has begun just now.
    pub(super) async fn running(&self) -> v1::Holding {
        let held = self.held().await;
        self.caller.begin(&held).await.unwrap()
    }

    /// The key of what ana has begun just now.
    pub(super) async fn running_key(&self) -> Option<v1::HoldingKey> {
        Some(key_of(&self.running().await))
    }

    /// The record of a task that passed just now.
    pub(super) async fn record(&self) -> v1::ConditionsRecord {
        self.caller.finish(&self.running().await).await.unwrap()
    }

    /// A failed task: job and task.
    pub(super) async fn failed(&self) -> (String, String) {
        let running = self.running().await;
        self.caller.fail(&running, v1::FailureCause::Equipment, "").await.unwrap();
        (running.job_id, running.task_id)
    }
}

/// A refusal as a reader sees it, with everything that it says.
pub(super) fn told(status: &Status) -> (Refusal, String) {
    let details = String::from_utf8_lossy(status.details()).into_owned();
    (Refusal::from(status), format!("{} {details}", status.message()))
}
