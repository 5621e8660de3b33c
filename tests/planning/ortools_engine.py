"""OR-Tools routing: cheapest insertion, then guided local search.

Cannot hold: coming back to load again, whole packs, stock over all crews, the break's place in the day, waits before
the first stop as time that costs nothing. Ranks become penalties for what is dropped; it drops what would fit, and is
the weakest of the engines on rounds of 60 and more. Without a deadline it stops after a count of solutions. Transit
times are registered as matrices: a callback that raises ends in a status of "optimal" with nothing done.
Source: developers.google.com/optimization/routing, from memory, not checked.
"""

from __future__ import annotations

from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from routing.planning.model.engine import Ask, Limit, empty, prizes
from routing.planning.model.frame import NO_WAY, Frame, build_frame, loads_of
from routing.planning.model.problem import Order, Orders

MOST_SECONDS = 10**6
BASE = 0


class OrTools:
    """The engine."""

    def __call__(self, ask: Ask) -> Orders:
        """Return the best orders it finds, from the start where one is given."""
        frame = build_frame(ask.problem, ask.tasks)
        vehicles = [(route, number) for number, kind in enumerate(frame.kinds) for route in kind.routes]
        if not frame.clients or not vehicles:
            return empty(ask.problem)
        manager = pywrapcp.RoutingIndexManager(len(frame.clients) + 1, len(vehicles), BASE)
        routing = pywrapcp.RoutingModel(manager)
        _add_time(frame, vehicles, manager, routing)
        _add_loads(frame, vehicles, manager, routing)
        _add_choice(frame, vehicles, manager, routing)
        parameters = _parameters(ask.limit)
        answer = None
        if ask.start is not None:
            routing.CloseModelWithParameters(parameters)
            sequences = [[c + 1 for c in frame.sequence(ask.start[route])] for route, _ in vehicles]
            known = routing.ReadAssignmentFromRoutes(sequences, True)  # noqa: FBT003 - the library's own form
            if known is not None:
                answer = routing.SolveFromAssignmentWithParameters(known, parameters)
        if answer is None:
            answer = routing.SolveWithParameters(parameters)
        return empty(ask.problem) if answer is None else _orders(frame, vehicles, manager, routing, answer, ask)


def _add_time(
    frame: Frame,
    vehicles: list[tuple[int, int]],
    manager: pywrapcp.RoutingIndexManager,
    routing: pywrapcp.RoutingModel,
) -> None:
    services = [0, *(client.service for client in frame.clients)]
    transits = []
    for arcs in frame.profiles:
        matrix = [[int(seconds) + services[here] for seconds in row] for here, row in enumerate(arcs.tolist())]
        transits.append(routing.RegisterTransitMatrix(matrix))
    callbacks = [transits[frame.kinds[kind].profile] for _, kind in vehicles]
    for number, callback in enumerate(callbacks):
        routing.SetArcCostEvaluatorOfVehicle(callback, number)
    slack = max(kind.latest for kind in frame.kinds)
    routing.AddDimensionWithVehicleTransits(callbacks, max(0, slack), MOST_SECONDS, False, "time")  # noqa: FBT003
    time = routing.GetDimensionOrDie("time")
    for number, client in enumerate(frame.clients):
        time.CumulVar(manager.NodeToIndex(number + 1)).SetRange(*client.starts)
    for number, (_, kind) in enumerate(vehicles):
        early, late = frame.kinds[kind].earliest, max(frame.kinds[kind].earliest, frame.kinds[kind].latest)
        time.CumulVar(routing.Start(number)).SetRange(early, late)
        time.CumulVar(routing.End(number)).SetRange(early, late)


def _add_loads(
    frame: Frame,
    vehicles: list[tuple[int, int]],
    manager: pywrapcp.RoutingIndexManager,
    routing: pywrapcp.RoutingModel,
) -> None:
    del manager
    amounts = [loads_of(frame.problem, client.task) for client in frame.clients]
    for measure, limits in (
        (0, [frame.kinds[kind].grams for _, kind in vehicles]),
        (1, [frame.kinds[kind].millilitres for _, kind in vehicles]),
    ):
        for way in (0, 1):
            carried = [0, *(amount[way][measure] for amount in amounts)]
            if sum(carried) > min(limits):
                evaluator = routing.RegisterUnaryTransitVector(carried)
                name = f"load {measure} {way}"
                routing.AddDimensionWithVehicleCapacity(evaluator, 0, limits, True, name)  # noqa: FBT003


def _add_choice(
    frame: Frame,
    vehicles: list[tuple[int, int]],
    manager: pywrapcp.RoutingIndexManager,
    routing: pywrapcp.RoutingModel,
) -> None:
    worth = prizes(frame.problem, sorted(frame.clients_of_task), frame.prize_detour)
    for task, clients in frame.clients_of_task.items():
        indices = [manager.NodeToIndex(client + 1) for client in clients]
        routing.AddDisjunction(indices, worth[task])
    for number in range(len(frame.clients)):
        able = [
            vehicle
            for vehicle, (_, kind) in enumerate(vehicles)
            if frame.profiles[frame.kinds[kind].profile][0, number + 1] < NO_WAY
        ]
        routing.VehicleVar(manager.NodeToIndex(number + 1)).SetValues([-1, *able])


def _parameters(limit: Limit) -> object:
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    left = limit.seconds_left()
    if left is None:
        parameters.solution_limit = max(1, limit.iterations // 10)
    else:
        parameters.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        parameters.time_limit.FromMilliseconds(max(1, int(1000 * left)))
    return parameters


def _orders(
    frame: Frame,
    vehicles: list[tuple[int, int]],
    manager: pywrapcp.RoutingIndexManager,
    routing: pywrapcp.RoutingModel,
    answer: pywrapcp.Assignment,
    ask: Ask,
) -> Orders:
    orders: list[Order] = list(empty(frame.problem))
    for number, (route, _) in enumerate(vehicles):
        sequence = []
        index = answer.Value(routing.NextVar(routing.Start(number)))
        while not routing.IsEnd(index):
            sequence.append(manager.IndexToNode(index) - 1)
            index = answer.Value(routing.NextVar(index))
        orders[route] = frame.order(route, sequence)
        ask.found(route, orders[route])
    return tuple(orders)
