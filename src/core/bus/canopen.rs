//! CANopen's own messages that an installer meets: heartbeats, emergencies and network commands (CiA 301).

use crate::core::bus::frame::Identifier;

/// A node's state, as its heartbeat gives it (CiA 301; documentation of a CANopen driver).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NodeState {
    BootUp,
    Stopped,
    Operational,
    PreOperational,
    /// A code that CiA 301 does not name.
    Other(u8),
}

/// What a network command asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    Start,
    Stop,
    PreOperational,
    ResetNode,
    ResetCommunication,
    Other(u8),
}

/// One message. Node numbers run from 1 to 127.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Message {
    /// Identifier 0: a command to one node, or to all (`None`).
    Network { command: Command, node: Option<u8> },
    /// Identifier 0x080.
    Sync,
    /// Identifier 0x080 + node. Code 0000 says that the fault is gone.
    Emergency { node: u8, code: u16, register: u8, maker: [u8; 5] },
    /// Process data, one of four in each direction, identifiers 0x180 to 0x500 + node.
    ProcessData { node: u8, number: u8, from_node: bool },
    /// Service data: answers 0x580 + node, requests 0x600 + node.
    ServiceData { node: u8, answer: bool },
    /// Identifier 0x700 + node.
    Heartbeat { node: u8, state: NodeState },
    /// In CANopen's range, but not of a form that CiA 301 gives it.
    Malformed,
}

/// Reads a frame. `None`: 29 bits, or an identifier that CiA 301 leaves to others.
pub fn decode(identifier: Identifier, data: &[u8]) -> Option<Message> {
    if identifier.is_extended() {
        return None;
    }
    let value = identifier.value();
    let node = (value & 0x7F) as u8;
    let has_node = (1..=127).contains(&node);
    let message = match value & 0x780 {
        0x000 if value == 0 => match data {
            [command, node] if *node <= 127 => {
                Message::Network { command: command_of(*command), node: (*node != 0).then_some(*node) }
            }
            _ => Message::Malformed,
        },
        0x080 if value == 0x080 => Message::Sync,
        0x080 => match data {
            [low, high, register, maker @ ..] => match <[u8; 5]>::try_from(maker) {
                Ok(maker) => {
                    Message::Emergency { node, code: u16::from_le_bytes([*low, *high]), register: *register, maker }
                }
                Err(_) => Message::Malformed,
            },
            _ => Message::Malformed,
        },
        // 0x180, 0x280, 0x380, 0x480 leave the node; 0x200, 0x300, 0x400, 0x500 are for it.
        group @ (0x180 | 0x200 | 0x280 | 0x300 | 0x380 | 0x400 | 0x480 | 0x500) if has_node => {
            let from_node = group & 0x080 != 0;
            let number = if from_node { (group - 0x080) >> 8 } else { (group - 0x100) >> 8 };
            Message::ProcessData { node, number: number as u8, from_node }
        }
        0x580 if has_node => Message::ServiceData { node, answer: true },
        0x600 if has_node => Message::ServiceData { node, answer: false },
        0x700 if has_node => match data {
            // The top bit toggles in the older node guarding; it is no part of the state (CiA 301, from memory).
            [code] => Message::Heartbeat { node, state: state_of(code & 0x7F) },
            _ => Message::Malformed,
        },
        _ => return None,
    };
    Some(message)
}

fn state_of(code: u8) -> NodeState {
    match code {
        0 => NodeState::BootUp,
        4 => NodeState::Stopped,
        5 => NodeState::Operational,
        127 => NodeState::PreOperational,
        other => NodeState::Other(other),
    }
}

fn command_of(code: u8) -> Command {
    match code {
        1 => Command::Start,
        2 => Command::Stop,
        128 => Command::PreOperational,
        129 => Command::ResetNode,
        130 => Command::ResetCommunication,
        other => Command::Other(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(identifier: u32, data: &[u8]) -> Option<Message> {
        decode(Identifier::base(identifier).unwrap(), data)
    }

    #[test]
    fn heartbeats() {
        for (code, state) in [
            (0, NodeState::BootUp),
            (4, NodeState::Stopped),
            (5, NodeState::Operational),
            (127, NodeState::PreOperational),
            (9, NodeState::Other(9)),
        ] {
            assert_eq!(read(0x705, &[code]), Some(Message::Heartbeat { node: 5, state }));
        }
        assert_eq!(read(0x705, &[]), Some(Message::Malformed));
        assert_eq!(read(0x700, &[5]), None);
    }

    #[test]
    fn emergencies() {
        let seen = read(0x08A, &[0x10, 0x42, 0x09, 1, 2, 3, 4, 5]);
        assert_eq!(seen, Some(Message::Emergency { node: 10, code: 0x4210, register: 9, maker: [1, 2, 3, 4, 5] }));
        assert_eq!(read(0x08A, &[0x10, 0x42]), Some(Message::Malformed));
        assert_eq!(read(0x080, &[]), Some(Message::Sync));
    }

    #[test]
    fn commands_and_data() {
        assert_eq!(read(0, &[1, 0]), Some(Message::Network { command: Command::Start, node: None }));
        assert_eq!(read(0, &[130, 7]), Some(Message::Network { command: Command::ResetCommunication, node: Some(7) }));
        assert_eq!(read(0, &[1]), Some(Message::Malformed));
        for (base, number, from_node) in [
            (0x180, 1, true),
            (0x200, 1, false),
            (0x280, 2, true),
            (0x300, 2, false),
            (0x380, 3, true),
            (0x400, 3, false),
            (0x480, 4, true),
            (0x500, 4, false),
        ] {
            assert_eq!(read(base + 3, &[]), Some(Message::ProcessData { node: 3, number, from_node }));
        }
        assert_eq!(read(0x603, &[]), Some(Message::ServiceData { node: 3, answer: false }));
        assert_eq!(read(0x7E5, &[]), None);
        assert_eq!(decode(Identifier::extended(0x705).unwrap(), &[5]), None);
    }
}
