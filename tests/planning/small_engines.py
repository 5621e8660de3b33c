"""Engines that do what a test needs, by themselves in a file: a process that runs one imports what stands beside it."""

from __future__ import annotations

import time
from dataclasses import dataclass

from routing.planning.model.engine import Ask, empty
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Orders
from routing.planning.search.insertion import construct
from tests.planning.random_problems import wait_until_over


@dataclass(frozen=True)
class Sleeper:
    """An engine that takes its time, or breaks."""

    seconds: float = 60
    breaks: bool = False
    heeds: bool = True
    name: str = "sleeper"

    def __call__(self, ask: Ask) -> Orders:
        if self.breaks:
            raise ValueError("broken")
        end = time.monotonic() + self.seconds
        while time.monotonic() < end and not (self.heeds and ask.limit.over(0)):
            time.sleep(0.01)
        orders = construct(OrderCosts(ask.problem), ask.tasks)
        ask.found(0, orders[0])
        return orders


@dataclass(frozen=True)
class Scarce:
    """An engine that plans where light is said to be scarce, and else for nobody."""

    name: str = "scarce"

    def __call__(self, ask: Ask) -> Orders:
        return construct(OrderCosts(ask.problem), ask.tasks) if ask.scarce else empty(ask.problem)


@dataclass(frozen=True)
class Heard:
    """Keeps what it is told of."""

    routes: list[tuple[int, Order]]

    def __call__(self, route: int, order: Order) -> None:
        self.routes.append((route, order))


@dataclass(frozen=True)
class Teller:
    """Tells at once of what it will answer, then waits to be halted; nothing is told where nobody listens."""

    name: str = "teller"

    def __call__(self, ask: Ask) -> Orders:
        orders = construct(OrderCosts(ask.problem), ask.tasks)
        if ask.better is not None:
            ask.better(orders)
        wait_until_over(ask)
        return orders


@dataclass(frozen=True)
class Unheard:
    """An engine that plans where nobody listens, and else for nobody."""

    name: str = "unheard"

    def __call__(self, ask: Ask) -> Orders:
        return construct(OrderCosts(ask.problem), ask.tasks) if ask.better is None else empty(ask.problem)


def built(ask: Ask) -> Orders:
    """Build orders as our own construction does, and tell of the first route alone and of all."""
    orders = construct(OrderCosts(ask.problem), ask.tasks)
    for route, order in enumerate(orders):
        ask.found(route, order)
    return orders
