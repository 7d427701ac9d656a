//! The way to a sound server in PulseAudio's own protocol, which PipeWire speaks too.

use super::SoundError;
use pulseaudio::protocol::{
    AuthParams, AuthReply, Command, CommandReply, DESCRIPTOR_SIZE, MAX_VERSION, PlaybackLatency,
    Prop, Props, ProtocolError, SetClientNameReply, TagStructReader, encode_command_message,
    read_descriptor, read_reply_message, write_command_message, write_memblock,
};
use pulseaudio::{cookie_path_from_env, socket_path_from_env};
use std::io::{self, BufReader, Read, Write};
use std::os::fd::{AsFd, BorrowedFd};
use std::os::unix::net::UnixStream;
use std::time::Duration;

/// How long the server may take for an answer while the way is opened.
const PATIENCE: Duration = Duration::from_millis(1000);
/// The most bytes that a message from the server may have: ours are answered with some hundred.
const LONGEST: usize = 1 << 20;

/// An open way to a server: messages are queued and sent as the server takes them, and nothing waits.
pub(super) struct PulseServer {
    socket: UnixStream,
    version: u16,
    outgoing: Vec<u8>,
    incoming: Vec<u8>,
    /// The number of the last command.
    last: u32,
    /// The number of the command that asks where a stream is, if one waits for its answer.
    asked: Option<u32>,
}

impl PulseServer {
    /// The server of this session; `None` where there is none, or it is reached in another way, or it refuses.
    ///
    /// # Errors
    /// Where it does not answer.
    pub fn connect() -> Result<Option<PulseServer>, SoundError> {
        // Another computer's sound is left to those who know how to reach it.
        let elsewhere =
            |server: std::ffi::OsString| !server.as_encoded_bytes().starts_with(b"unix:");
        if std::env::var_os("PULSE_SERVER").is_some_and(elsewhere) {
            return Ok(None);
        }
        let Some(socket) = socket_path_from_env().and_then(|path| UnixStream::connect(path).ok())
        else {
            return Ok(None);
        };
        let timed = |t| socket.set_read_timeout(t).and(socket.set_write_timeout(t));
        if timed(Some(PATIENCE)).is_err() {
            return Ok(None);
        }
        let mut server = PulseServer::on(socket);
        let cookie = cookie_path_from_env().and_then(|path| std::fs::read(path).ok());
        let auth = AuthParams {
            version: MAX_VERSION,
            supports_shm: false,
            supports_memfd: false,
            cookie: cookie.unwrap_or_default(),
        };
        let mut props = Props::new();
        props.set(Prop::ApplicationName, c"whichside");
        let greeted = server
            .call::<AuthReply>(&Command::Auth(auth))
            .and_then(|reply| {
                server.version = MAX_VERSION.min(reply.version);
                server.call::<SetClientNameReply>(&Command::SetClientName(props))
            });
        match greeted {
            Ok(_) => Ok(Some(server)),
            Err(error) if is_timeout(&error) => Err(SoundError::NoAnswer),
            Err(_) => Ok(None),
        }
    }

    /// Through a socket, before anything was said.
    pub fn on(socket: UnixStream) -> PulseServer {
        PulseServer {
            socket,
            version: MAX_VERSION,
            outgoing: Vec::new(),
            incoming: Vec::new(),
            last: 0,
            asked: None,
        }
    }

    fn number(&mut self) -> u32 {
        self.last += 1;
        self.last
    }

    /// Asks and waits for the answer. Only before [`PulseServer::wait_for_nothing`].
    pub fn call<R: CommandReply>(&mut self, command: &Command) -> Result<R, ProtocolError> {
        let number = self.number();
        write_command_message(&mut self.socket, number, command, self.version)?;
        // One byte at a time is read ahead, so that nothing of the next message is lost.
        let mut reader = BufReader::with_capacity(1, &mut self.socket);
        loop {
            let (answered, reply) = read_reply_message(&mut reader, self.version)?;
            if answered == number {
                return Ok(reply);
            }
        }
    }

    /// From here on nothing waits for the server.
    pub fn wait_for_nothing(&mut self) -> io::Result<()> {
        self.socket.set_nonblocking(true)
    }

    /// Queues a command and gives its number.
    pub fn tell(&mut self, command: &Command) -> Result<u32, ProtocolError> {
        let number = self.number();
        let mut message = Vec::new();
        encode_command_message(&mut message, number, command, self.version)?;
        self.outgoing.append(&mut message);
        Ok(number)
    }

    /// Queues the question where a stream is, unless it waits for the answer to another one.
    pub fn ask_latency(&mut self, command: &Command) -> Result<bool, ProtocolError> {
        if self.asked.is_some() {
            return Ok(false);
        }
        self.asked = Some(self.tell(command)?);
        Ok(true)
    }

    /// Queues sound for a stream, `offset` bytes from where the last one ended.
    pub fn queue_sound(
        &mut self,
        stream: u32,
        bytes: &[u8],
        offset: i64,
    ) -> Result<(), ProtocolError> {
        // The protocol has a signed number here.
        write_memblock(&mut self.outgoing, stream, bytes, offset as u64)
    }

    /// Something waits to be sent.
    pub fn has_outgoing(&self) -> bool {
        !self.outgoing.is_empty()
    }

    /// Sends what the server takes now.
    pub fn send(&mut self) -> io::Result<()> {
        let mut sent = 0;
        while sent < self.outgoing.len() {
            match self.socket.write(&self.outgoing[sent..]) {
                Ok(0) => return Err(io::ErrorKind::WriteZero.into()),
                Ok(count) => sent += count,
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => break,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        self.outgoing.drain(..sent);
        Ok(())
    }

    /// Reads what is there now: the last answer to where a stream is, if one came; `hear` gets everything else.
    pub fn receive(
        &mut self,
        mut hear: impl FnMut(Command) -> Result<(), ProtocolError>,
    ) -> Result<Option<PlaybackLatency>, ProtocolError> {
        let mut part = [0; 4096];
        loop {
            match self.socket.read(&mut part) {
                Ok(0) => return Err(io::Error::from(io::ErrorKind::UnexpectedEof).into()),
                Ok(count) => self.incoming.extend_from_slice(&part[..count]),
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => break,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                Err(error) => return Err(error.into()),
            }
        }
        let mut latest = None;
        let mut taken = 0;
        while let Some(head) = self.incoming.get(taken..taken + DESCRIPTOR_SIZE) {
            let head = read_descriptor(&mut &*head)?;
            let length = head.length as usize;
            if length > LONGEST {
                return Err(ProtocolError::Invalid("a message is too long".into()));
            }
            let from = taken + DESCRIPTOR_SIZE;
            let Some(body) = self.incoming.get(from..from + length) else {
                break;
            };
            taken = from + length;
            let mut body = body;
            // A command that the library does not know is none that matters here.
            let Ok((number, command)) = Command::read_tag_prefixed(&mut body, self.version) else {
                continue;
            };
            let answers = self.asked == Some(number);
            match command {
                Command::Reply if answers => {
                    self.asked = None;
                    latest = Some(TagStructReader::new(&mut body, self.version).read()?);
                }
                Command::Error(error) => return Err(ProtocolError::ServerError(error)),
                Command::Reply => {}
                other => hear(other)?,
            }
        }
        self.incoming.drain(..taken);
        Ok(latest)
    }
}

impl AsFd for PulseServer {
    fn as_fd(&self) -> BorrowedFd<'_> {
        self.socket.as_fd()
    }
}

/// The server was waited for in vain.
pub(super) fn is_timeout(error: &ProtocolError) -> bool {
    use io::ErrorKind::{TimedOut, WouldBlock};
    match error {
        ProtocolError::Io(error) => matches!(error.kind(), TimedOut | WouldBlock),
        ProtocolError::Timeout => true,
        _ => false,
    }
}
