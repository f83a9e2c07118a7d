//! `apply`: sends a shop file.

use crate::answer;
use crate::failure::Failure;
use crate::input;
use crate::json;
use crate::session::Session;
use crate::table::Table;
use baywright_api::v1::shop_service_client::ShopServiceClient;
use baywright_api::v1::{ApplyShopRequest, ApplyShopResponse, ChangeKind};
use baywright_files::shop_file;
use baywright_files::words::Word as _;
use clap::Args;
use std::path::PathBuf;

/// Apply a shop file: add, replace and retire what is written down.
#[derive(Debug, Args)]
#[command(after_long_help = "Example:\n  baywright apply shop.toml --dry-run")]
pub(crate) struct Apply {
    /// Shop file (TOML).
    file: PathBuf,
    /// Say what would change, without effect.
    #[arg(long)]
    dry_run: bool,
}

impl Apply {
    pub(crate) async fn run(self, session: &Session) -> Result<(), Failure> {
        let definition =
            input::parsed(&self.file, shop_file::SHOP_FILE_BYTES_MAX, shop_file::parse)?;
        let request = ApplyShopRequest {
            definition: Some(definition),
            validate_only: self.dry_run,
            request_id: session.request_id(),
            actor: session.actor.clone(),
        };
        let reply = session
            .call(request, async |channel, request| {
                ShopServiceClient::new(channel).apply_shop(request).await
            })
            .await?;
        if session.json {
            return answer::write(&json::text("ApplyShopResponse", &reply)?);
        }
        answer::write(&text(&reply, self.dry_run))
    }
}

fn text(reply: &ApplyShopResponse, dry_run: bool) -> String {
    let mut table = Table::new(&["kind", "name", "change", "revision"]);
    for change in &reply.changes {
        table.row([
            change.kind.clone(),
            change.id.clone(),
            ChangeKind::word_of(change.change),
            change.revision.to_string(),
        ]);
    }
    let count = reply.changes.len();
    let noun = if count == 1 { "change" } else { "changes" };
    let tail = if dry_run {
        format!("{count} {noun} would be made; nothing was changed.")
    } else {
        format!("{count} {noun}.")
    };
    if table.is_empty() { tail } else { format!("{}\n\n{tail}", table.text()) }
}
