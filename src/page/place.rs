use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// The address at which other machines on the network reach this one, if it has one. Nothing is
/// sent: connecting a UDP socket only chooses the local address of the route.
pub(crate) fn on_network() -> Option<IpAddr> {
    // An address reserved for documentation, which belongs to nobody: RFC 5737.
    const NOBODY: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::new(192, 0, 2, 1)), 9);
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect(NOBODY).ok()?;
    let address = socket.local_addr().ok()?.ip();
    (!address.is_unspecified() && !address.is_loopback()).then_some(address)
}

pub(crate) fn address(place: SocketAddr, key: &str) -> String {
    format!("http://{place}/?key={key}")
}
