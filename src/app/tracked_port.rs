//! The port at which tracked hands are heard, in the engine: polled once in each picture.
//!
//! It is opened only if it is asked for, and on this machine alone: whoever can send to it moves the hands.

use std::io::ErrorKind;
use std::net::{SocketAddr, UdpSocket};

use bevy::prelude::*;

use super::acts::Bound;
use super::devices::TrackedMotions;
use super::panels::Desk;
use super::tracked::{HandState, PACKET_MAX, Tracked};
use super::words::Language;

/// Where tracked hands are heard if no other place is named.
pub const ADDRESS: &str = "127.0.0.1:9000";

/// Most packets that are taken in one picture: a flood must not stop the window.
const PACKETS_MAX: usize = 1000;

/// Reads an address at which tracked hands may be heard.
///
/// # Errors
/// If it is none, or not of this machine alone: what was found, what is allowed, and why.
pub fn loopback(text: &str) -> Result<SocketAddr, String> {
    let allowed = format!("allowed are a port of this machine alone, such as {ADDRESS} or [::1]:9000");
    let Ok(address) = text.parse::<SocketAddr>() else {
        return Err(format!("{text} is no address with a port: {allowed}"));
    };
    if address.ip().is_loopback() {
        return Ok(address);
    }
    Err(format!("{address} can be reached from other machines: {allowed}, for whoever sends to it moves the hands"))
}

/// The port and what has come through it.
#[derive(Resource, Debug)]
pub struct TrackedPort {
    /// Where it is.
    address: SocketAddr,
    /// The socket, or why there is none.
    socket: Result<UdpSocket, String>,
    tracked: Tracked,
    /// One byte longer than a packet may be, so that a longer one is told.
    packet: Box<[u8; PACKET_MAX + 1]>,
}

impl TrackedPort {
    /// Opens a port; where it cannot be opened, as one that is taken, it says so and no hand follows.
    #[must_use]
    pub fn open(address: SocketAddr) -> TrackedPort {
        let opened = || {
            let address = loopback(&address.to_string())?;
            let socket = UdpSocket::bind(address).map_err(|error| error.to_string())?;
            socket.set_nonblocking(true).map_err(|error| error.to_string())?;
            Ok(socket)
        };
        let socket: Result<UdpSocket, String> = opened();
        // A port of 0 is any that is free.
        let address = socket.as_ref().ok().and_then(|socket| socket.local_addr().ok()).unwrap_or(address);
        TrackedPort { address, socket, tracked: Tracked::default(), packet: Box::new([0; PACKET_MAX + 1]) }
    }

    /// Where it is.
    #[must_use]
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// What is known of both hands, in a line.
    #[must_use]
    pub fn words(&self, language: Language) -> String {
        let address = ("address", self.address.to_string());
        if let Err(why) = &self.socket {
            return language.tell("tracked-not-open", &[address, ("why", why.clone())]);
        }
        let [left, right] = self.tracked.states().map(|state| {
            language.say(match state {
                HandState::Silent => "tracked-silent",
                HandState::NotSeen => "tracked-not-seen",
                HandState::Clutched => "tracked-clutched",
                HandState::Followed => "tracked-followed",
            })
        });
        let mut words = language.tell("tracked-line", &[address, ("left", left), ("right", right)]);
        if self.tracked.ignored() > 0 {
            words += " ";
            words += &language.tell("tracked-ignored", &[("count", self.tracked.ignored().to_string())]);
        }
        words
    }

    /// Takes all that has come, in order.
    fn poll(&mut self, time: &Time<Real>) {
        let Ok(socket) = &self.socket else { return };
        for _ in 0..PACKETS_MAX {
            match socket.recv(self.packet.as_mut_slice()) {
                Ok(length) => self.tracked.take(&self.packet[..length], time.elapsed()),
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => {
                    if error.kind() != ErrorKind::WouldBlock {
                        self.tracked.ignore("tracked-no-osc", vec![("why", error.to_string())]);
                    }
                    return;
                }
            }
        }
    }
}

/// Adds the port, if there is one.
pub(super) fn plugin(app: &mut App) {
    app.add_systems(PreUpdate, hear_tracked_hands.run_if(resource_exists::<TrackedPort>));
}

/// Hears where the hands are.
fn hear_tracked_hands(
    mut port: ResMut<TrackedPort>,
    mut motions: ResMut<TrackedMotions>,
    mut desk: ResMut<Desk>,
    bound: Res<Bound>,
    time: Res<Time<Real>>,
) {
    port.poll(&time);
    motions.0 = port.tracked.look(time.elapsed(), bound.mirrored());
    if let Some(fault) = port.tracked.fault() {
        desk.refuse(fault);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_port_of_this_machine_alone_is_opened_and_the_refusal_says_which_and_why() {
        for allowed in [ADDRESS, "127.0.0.2:1", "[::1]:9000"] {
            assert_eq!(loopback(allowed).map(|address| address.to_string()).as_deref(), Ok(allowed));
        }
        let refused = ["0.0.0.0:9000", "192.168.0.1:9000", "[::]:9000", "[::ffff:127.0.0.1]:9000", "localhost", "9000"];
        for text in refused {
            let said = loopback(text).expect_err(text);
            assert!(said.starts_with(text) && said.contains("allowed are") && said.contains(ADDRESS), "{said}");
        }
        assert!(loopback("0.0.0.0:9000").expect_err("all").contains("whoever sends to it moves the hands"));
        let open: SocketAddr = "0.0.0.0:0".parse().expect("it is one");
        assert!(TrackedPort::open(open).socket.is_err(), "not even if it is asked for past the arguments");
    }

    #[test]
    fn a_port_that_is_taken_is_told_in_one_line_in_either_language() {
        let taken = UdpSocket::bind("127.0.0.1:0").and_then(|socket| Ok((socket.local_addr()?, socket)));
        let (address, _socket) = taken.expect("there is a free port");
        let port = TrackedPort::open(address);
        for (language, part) in [(Language::English, "no hand follows"), (Language::German, "keine Hand folgt")] {
            let said = port.words(language);
            assert!(said.contains(&address.to_string()) && said.contains(part) && !said.contains('\n'), "{said}");
        }
    }
}
