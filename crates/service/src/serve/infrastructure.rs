//! Health and reflection, beside the services of the contract.
//!
//! Health says whether the process serves; a probe never asks the database.

use baywright_api::CONTRACT_DESCRIPTOR_SET;
use tonic::service::Routes;
use tonic_health::{ServingStatus, pb::FILE_DESCRIPTOR_SET, server::HealthReporter};
use tonic_reflection::server::{Builder, Error};

/// The name under which health speaks of the whole process.
const WHOLE_PROCESS: &str = "";

/// What health answers.
#[derive(Debug)]
pub(super) struct Health(HealthReporter);

impl Health {
    /// From now on the process does not serve; watchers are told.
    pub(super) async fn stop_serving(&self) {
        self.0.set_service_status(WHOLE_PROCESS, ServingStatus::NotServing).await;
    }

    /// Ends the streams of watchers, which would keep their connections open.
    pub(super) async fn dismiss_watchers(mut self) {
        self.0.clear_service_status(WHOLE_PROCESS).await;
    }
}

/// Adds health, and reflection in both versions that clients speak.
pub(super) fn add_to(routes: Routes) -> Result<(Health, Routes), Error> {
    let (reporter, health) = tonic_health::server::health_reporter();
    let described = || {
        Builder::configure()
            .register_encoded_file_descriptor_set(CONTRACT_DESCRIPTOR_SET)
            .register_encoded_file_descriptor_set(FILE_DESCRIPTOR_SET)
    };
    let routes = routes
        .add_service(health)
        .add_service(described().build_v1()?)
        .add_service(described().build_v1alpha()?);
    Ok((Health(reporter), routes))
}
