//! Calls by the contract's own descriptors: bytes out, bytes in, so that answers can be compared byte
//! for byte and every call of the contract can be sent by one function.

use prost::{
    Message as _,
    bytes::{Buf as _, BufMut as _},
};
use prost_reflect::{DynamicMessage, MethodDescriptor};
use tonic::{
    Request, Status,
    client::Grpc,
    codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder},
    codegen::http::uri::PathAndQuery,
    transport::Channel,
};

/// Leaves messages as they are.
#[derive(Debug, Default, Clone, Copy)]
struct Bytes;

impl Codec for Bytes {
    type Encode = Vec<u8>;
    type Decode = Vec<u8>;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        Self
    }

    fn decoder(&mut self) -> Self {
        Self
    }
}

impl Encoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn encode(&mut self, item: Vec<u8>, to: &mut EncodeBuf<'_>) -> Result<(), Status> {
        to.put_slice(&item);
        Ok(())
    }
}

impl Decoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<Vec<u8>>, Status> {
        Ok(Some(from.copy_to_bytes(from.remaining()).to_vec()))
    }
}

/// Sends a request; the bytes of the answer. Of a stream those of its first item, or of its last where it
/// writes: such a stream ends with what it has done.
pub(super) async fn call(
    channel: Channel,
    method: &MethodDescriptor,
    request: &DynamicMessage,
) -> Result<Vec<u8>, Status> {
    let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
    let path = PathAndQuery::try_from(path).unwrap();
    let mut client = Grpc::new(channel);
    client.ready().await.unwrap();
    let request = Request::new(request.encode_to_vec());
    if !method.is_server_streaming() {
        return Ok(client.unary(request, path, Bytes).await?.into_inner());
    }
    let mut items = client.server_streaming(request, path, Bytes).await?.into_inner();
    let mut answer = items.message().await?.unwrap();
    if method.input().get_field_by_name("request_id").is_some() {
        while let Some(item) = items.message().await? {
            answer = item;
        }
    }
    Ok(answer)
}
