"""How far real days stray from planned ones: spreads of the logarithm, each with its source."""

from __future__ import annotations

from routing.farm.models import Farm, Figure, Frozen


def _usual(value: float, why: str) -> Figure:
    return Figure(value=value, source=f"common practice, no source: {why}", confidence="M")


class Spread(Frozen):
    """Standard deviations of the natural logarithm of real over planned seconds; 0.1 is about a tenth more or less.

    The planned seconds are the middle (median) of what may happen. Errors go together: all visits of a date share its
    pace, all drives of a date its traffic, and all stops at one site share what is odd about it.
    """

    visit: Figure = _usual(0.20, "one visit in three strays by more than a fifth for reasons of its own")
    site: Figure = _usual(0.10, "a site's ground and colonies make it a tenth slower or quicker than reckoned")
    day_work: Figure = _usual(0.12, "bees' temper, weather and people's pace move a whole day's work by an eighth")
    drive: Figure = _usual(0.10, "tractors, lights and closed gates, a tenth of one drive")
    day_drive: Figure = _usual(0.08, "traffic and weather move all drives of a day by a twelfth")

    @property
    def figures(self) -> tuple[tuple[str, Figure], ...]:
        """Each spread with its name in words."""
        return (
            ("one visit", self.visit),
            ("one site", self.site),
            ("a day's work", self.day_work),
            ("one drive", self.drive),
            ("a day's drives", self.day_drive),
        )

    @classmethod
    def of(cls, farm: Farm) -> Spread:
        """Return the spreads of a farm: those that its record teaches, the rest the defaults."""
        return cls().model_copy(update=dict(farm.spreads))
