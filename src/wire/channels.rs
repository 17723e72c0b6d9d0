//! Channels as parameters and as answers.

use super::channel_list::ChannelList;
use super::data::Data;
use super::error::{Error, ErrorCode};
use super::parameters::Parameters;
use super::scan::Element;
use super::writer::{Sink, Writer};
use core::fmt;

impl<'a> Data<'a> for ChannelList<'a> {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.channels(self.channels())
    }

    fn read(from: &mut Parameters<'a>) -> Result<Self, Error> {
        from.channels()
    }
}

/// One channel, as a list of one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OneChannel(pub u16);

impl Data<'_> for OneChannel {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.channels([self.0])
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let mut channels = from.channels()?.channels();
        match (channels.next(), channels.next()) {
            (Some(channel), None) => Ok(OneChannel(channel)),
            _ => Err(ErrorCode::DataOutOfRange.because("one channel at a time")),
        }
    }
}

/// One channel, as a list of one or as a plain number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ListedOrPlain(pub u16);

impl Data<'_> for ListedOrPlain {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        OneChannel(self.0).write(writer)
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        match from.clone().element()? {
            Element::Expression(_) => OneChannel::read(from).map(|one| ListedOrPlain(one.0)),
            _ => u16::read(from).map(ListedOrPlain),
        }
    }
}

/// More channels than any jig has.
pub const CHANNELS_MAX: usize = 128;

/// Channels that a jig names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named(pub heapless::Vec<u16, CHANNELS_MAX>);

impl FromIterator<u16> for Named {
    /// Those beyond [`CHANNELS_MAX`] are lost.
    fn from_iter<I: IntoIterator<Item = u16>>(channels: I) -> Self {
        Named(channels.into_iter().take(CHANNELS_MAX).collect())
    }
}

impl Data<'_> for Named {
    fn write(&self, writer: &mut Writer<'_, impl Sink>) -> fmt::Result {
        writer.channels(self.0.iter().copied())
    }

    fn read(from: &mut Parameters<'_>) -> Result<Self, Error> {
        let mut channels = heapless::Vec::new();
        for channel in from.channels()?.channels() {
            channels.push(channel).map_err(|_| ErrorCode::TooMuchData)?;
        }
        Ok(Named(channels))
    }
}
