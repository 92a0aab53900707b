"""What every lot of the demo nursery shares: the day, the staff, the benches, and chance."""

from dataclasses import dataclass
from datetime import date, datetime, time, tzinfo
from uuid import UUID

from numpy.random import Generator

from lots.models import Place
from nursery.models import Person


@dataclass(slots=True)
class Context:
    rng: Generator
    today: date
    staff: list[Person]
    growing_places: list[Place]
    zone: tzinfo

    def moment(self, day: date, minute: int) -> datetime:
        clock = time(minute // 60, minute % 60)
        return datetime.combine(day, clock, tzinfo=self.zone)

    def uuid(self) -> UUID:
        return UUID(bytes=self.rng.bytes(16), version=4)
