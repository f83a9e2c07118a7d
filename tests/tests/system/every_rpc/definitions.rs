//! Shops and surveys.

use super::{
    entry::{Entry, Foreign, rpc, sent},
    paths::set,
    shops::{actor, own_definition, shop},
};
use baywright_api::v1;
use baywright_tests::system::{new_request_id, survey};
use prost_reflect::Value;

pub(super) fn entries() -> Vec<Entry> {
    vec![
        rpc("ShopService/ApplyShop", |_| {
            Box::pin(async {
                let mut definition = own_definition();
                definition.bays[0].ceiling_mm += 100.0;
                sent(&v1::ApplyShopRequest {
                    definition: Some(definition),
                    validate_only: false,
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        // A definition is whole: what it names, it defines.
        .foreign("definition.", Foreign::SendersOwn)
        .bad("definition.shop.shop_id", |request| {
            set(request, "definition.shop.shop_id", Value::String("no name".to_owned()));
        })
        .bad("definition.call_rules[0].calls[0].procedure_id", |request| {
            let name = Value::String("foreign-pre-scan".to_owned());
            set(request, "definition.call_rules[0].calls[0].procedure_id", name);
        })
        .bad("definition.bays[0].outline", |request| {
            set(request, "definition.bays[0].outline", Value::List(Vec::new()));
        }),
        rpc("ShopService/GetShop", |_| {
            Box::pin(async { sent(&v1::GetShopRequest { shop_id: shop() }) })
        })
        .shop_alone(),
        rpc("SurveyService/RecordSurvey", |_| {
            Box::pin(async {
                let mut survey = survey(&own_definition().bays[0]);
                "june".clone_into(&mut survey.survey_id);
                sent(&v1::RecordSurveyRequest {
                    shop_id: shop(),
                    survey: Some(survey),
                    request_id: new_request_id(),
                    actor: actor(),
                })
            })
        })
        .foreign("survey.survey_id", Foreign::SendersOwn)
        .bad("survey.taken_on", |request| {
            set(request, "survey.taken_on", Value::String("yesterday".to_owned()));
        })
        .bad("survey.height_uncertainty_mm", |request| {
            set(request, "survey.height_uncertainty_mm", Value::F64(-1.0));
        }),
        rpc("SurveyService/GetSurvey", |_| {
            Box::pin(async {
                sent(&v1::GetSurveyRequest { shop_id: shop(), bay_id: "bay-1".to_owned() })
            })
        }),
    ]
}
