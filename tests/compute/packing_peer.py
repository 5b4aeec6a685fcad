"""The independent exact answer: the same packing question put to OR-Tools CP-SAT."""

from listkit.compute.box import Block, Vector

try:
    from ortools.sat.python import cp_model
except ImportError:
    ORTOOLS_MISSING = "ortools is not installed (pip install listkit[peers])"
else:
    ORTOOLS_MISSING = ""


def peer_fits(blocks: tuple[Block, ...], room: Vector) -> bool:
    """Return whether CP-SAT finds a layout; it proves it when there is none."""
    model = cp_model.CpModel()
    axes = range(len(room))
    placed = []
    for block in blocks:
        chosen = [model.new_bool_var("") for _ in block.poses]
        model.add_exactly_one(chosen)
        start = [model.new_int_var(0, room[axis], "") for axis in axes]
        end = [start[axis] + sum(p[axis] * c for p, c in zip(block.poses, chosen, strict=True)) for axis in axes]
        for axis in axes:
            model.add(end[axis] <= room[axis])
        placed.append((block, start, end))
    for index, one in enumerate(placed):
        for other in placed[:index]:
            ways = []
            for axis in axes:
                for (first, _, end), (second, start, _) in ((one, other), (other, one)):
                    if axis == 2 and first.fragile and second.heavy:
                        continue
                    apart = model.new_bool_var("")
                    model.add(end[axis] <= start[axis]).only_enforce_if(apart)
                    ways.append(apart)
            model.add_bool_or(ways)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.INFEASIBLE), solver.status_name(status)
    return bool(status != cp_model.INFEASIBLE)
