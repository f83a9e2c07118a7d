//! The contract's generated messages and stubs, and conversions to and from the core.

pub mod v1;

/// The contract as an encoded `google.protobuf.FileDescriptorSet`, without comments: for server
/// reflection and for writing messages as JSON.
pub const CONTRACT_DESCRIPTOR_SET: &[u8] =
    include_bytes!(concat!(env!("OUT_DIR"), "/contract.binpb"));
