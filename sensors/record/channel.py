"""A channel of a recording being written. Named again from time to time, so that no single damage hides a sensor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from mcap.writer import Writer

from sensors.record import format as fmt


@dataclass(slots=True)
class OpenChannel:
    """A channel of the file, under the id that it goes by at present."""

    topic: str
    encoding: str
    schema_id: int
    about: dict[str, str]
    id: int = 0
    first_id: int = 0
    n_messages: int = 0

    def named_in(self, writer: Writer) -> Self:
        """Write it down, under a new id that says which ones it renews."""
        earlier = [str(id_) for id_ in dict.fromkeys((self.first_id, self.id)) if id_]
        about = self.about | ({fmt.RENEWS: ",".join(earlier)} if earlier else {})
        self.id = writer.register_channel(self.topic, self.encoding, self.schema_id, about)
        self.first_id = self.first_id or self.id
        return self
