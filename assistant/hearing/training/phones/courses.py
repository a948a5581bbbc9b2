"""The whole course: a beginning, and a network that goes on from it; or several that go on with
other seeds, and one that learns from all of them. Each is kept in the cache: what was broken off
goes on, and several processors can each fit one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from assistant.hearing.training.phones.band_spoiling import Spoiler
from assistant.hearing.training.phones.phone_fitting import Before, PhoneCourse, fit_phones
from assistant.hearing.training.phones.store import Store
from assistant.hearing.training.phones.torch_network import Weights, keep_weights, kept_weights

TRUNK_SEED, PUPIL_SEED = 100, 200


@dataclass(frozen=True)
class Courses:
    """Steps of each, and how many seeds from `first` on; 0 of `pupil` leaves the first seed's
    network as it is. What is shipped is seed 4 alone: three that taught one were no better."""

    trunk: int = 1500
    seeds: int = 1
    first: int = 4
    steps: int = 9000
    pupil: int = 0
    pupil_rate: float = 6e-4


@dataclass(frozen=True)
class Fitting:
    """What every one of them is fitted to, and where they are kept."""

    store: Store
    spoiler: Callable[[int], Spoiler]  # of a seed
    phrases: int
    batch: int
    device: str
    folder: Path
    tell: Callable[[str], None]

    def trunk(self, courses: Courses) -> Weights:
        """The beginning that all have in common, so that they hear a phone at the same moment."""
        course = PhoneCourse(steps=courses.trunk, batch=self.batch, seed=TRUNK_SEED)
        return self._made("trunk", course, Before())

    def seed(self, number: int, courses: Courses) -> Weights:
        """One network."""
        course = PhoneCourse(steps=courses.steps, batch=self.batch, seed=number)
        return self._made(f"seed-{number}", course, Before(self.trunk(courses)))

    def pupil(self, courses: Courses) -> Weights:
        """The one that is shipped."""
        first = courses.first
        teachers = [self.seed(number, courses) for number in range(first, first + courses.seeds)]
        if not courses.pupil:
            return teachers[0]
        course = PhoneCourse(
            steps=courses.pupil, batch=self.batch, rate=courses.pupil_rate, warm=100, doubt=0.0,
            seed=PUPIL_SEED,
        )  # fmt: skip
        return self._made("pupil", course, Before(teachers[0], teachers))

    def _made(self, name: str, course: PhoneCourse, before: Before) -> Weights:
        file = self.folder / f"{name}.npz"
        if file.exists():
            return kept_weights(file, self.device)

        def tell(line: str) -> None:
            self.tell(f"{name}: {line}")

        given = (self.store, self.spoiler(course.seed), self.phrases, course, self.device, tell)
        made, _ = fit_phones(*given, before)
        keep_weights(made, file)
        return made
