//! Where the service may listen: on this machine only, until callers can be told apart.

use std::{
    fmt,
    net::{IpAddr, Ipv4Addr, SocketAddr},
    str::FromStr,
};

/// The usual address.
const USUAL: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 7_420);

/// A loopback address and a port; port 0 means any free one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ListenAddress(SocketAddr);

/// The address is not one to listen on.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotLoopback {
    /// It is no address.
    #[error("\"{0}\" is no address; write 127.0.0.1:7420, or [::1]:7420")]
    NoAddress(String),
    /// Other machines could reach it.
    #[error(
        "{0} can be reached from other machines, and the service does not yet know who calls; \
         listen on 127.0.0.1 or [::1]"
    )]
    Reachable(SocketAddr),
}

impl ListenAddress {
    /// Checks that only this machine can reach the address.
    ///
    /// # Errors
    /// [`NotLoopback::Reachable`] for any other address.
    pub const fn new(address: SocketAddr) -> Result<Self, NotLoopback> {
        if address.ip().is_loopback() {
            Ok(Self(address))
        } else {
            Err(NotLoopback::Reachable(address))
        }
    }

    /// The address.
    pub const fn get(self) -> SocketAddr {
        self.0
    }
}

impl Default for ListenAddress {
    /// `127.0.0.1:7420`.
    fn default() -> Self {
        Self(USUAL)
    }
}

impl FromStr for ListenAddress {
    type Err = NotLoopback;

    fn from_str(text: &str) -> Result<Self, NotLoopback> {
        Self::new(text.parse().ok().ok_or_else(|| NotLoopback::NoAddress(text.to_owned()))?)
    }
}

impl fmt::Display for ListenAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rstest::rstest;

    #[rstest]
    #[case::usual("127.0.0.1:7420", true)]
    #[case::any_free_port("127.0.0.1:0", true)]
    #[case::loopback_of_ipv6("[::1]:7420", true)]
    #[case::all_interfaces("0.0.0.0:7420", false)]
    #[case::a_local_network("192.168.1.5:7420", false)]
    #[case::no_port("127.0.0.1", false)]
    #[case::a_name("localhost:7420", false)]
    fn only_this_machine_can_reach_the_service(#[case] text: &str, #[case] fits: bool) {
        assert_eq!(text.parse::<ListenAddress>().is_ok(), fits);
    }

    #[test]
    fn the_refusal_says_what_to_do() {
        let refusal = "0.0.0.0:7420".parse::<ListenAddress>().unwrap_err().to_string();
        assert!(refusal.contains("0.0.0.0:7420") && refusal.contains("listen on 127.0.0.1"));
    }
}
