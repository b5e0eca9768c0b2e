"""PyElastica: an explicit Cosserat rod, with the thread's real stiffness and so with the step that this allows.

The loads are gone through in a fraction of the task's time (`pace`): the rod is light enough to follow.
"""

import elastica as ea
import numpy as np

from run import Log, frames, pull_mn

# How long a task may step [s].
LIMIT_S = 45.0
# Share of the task's time in which the loads are gone through.
PACE = {"end_load": 0.02, "capstan": 0.02, "overhand": 0.1}
# Step over the shorter of the times of a wave along a segment and of a shear wave across the thread; the first that stays
# in place for so many steps is taken. (The package's advice for soft rods, 0.01 times the segment [s, m], is longer.)
SHARES = (0.7, 0.5, 0.35, 0.25, 0.18, 0.12, 0.08)
PROBE_STEPS = 3000


class Simulator(ea.BaseSystemCollection, ea.Constraints, ea.Forcing, ea.Damping, ea.Contact):
    """What the package wants to be composed."""


class Still(ea.ConstraintBase):
    """Keeps the first node (a rod's) or the whole body where it was, free to turn if it is a rod."""

    def __init__(self, *fixed, **kwargs):
        super().__init__(**kwargs)
        self.position = np.array(fixed[0])

    def constrain_values(self, system, time):
        system.position_collection[..., 0] = self.position

    def constrain_rates(self, system, time):
        system.velocity_collection[..., 0] = 0.0
        if system.omega_collection.shape[1] == 1:
            system.omega_collection[..., 0] = 0.0


class Pull(ea.NoForces):
    """The task's forces on both ends."""

    def __init__(self, task, log):
        self.task, self.log = task, log
        self.way = np.array(task["way"])
        self.first = None if task["first_load_mn"] is None else np.array(task["first_load_mn"])

    def apply_forces(self, system, time=0.0):
        system.external_forces[..., -1] += self.way * pull_mn(self.task, time / self.log.pace)
        if self.first is not None:
            system.external_forces[..., 0] += self.first


def build(task, log):
    """The simulator and its rod."""
    thread, segment = task["thread"], task["segment_mm"]
    points = np.array(task["points_mm"])
    tangents, normals, binormals = frames(points)
    radius = thread["radius_mm"]
    area = np.pi * radius**2
    polar = 0.5 * np.pi * radius**4
    rod = ea.CosseratRod.straight_rod(
        len(points) - 1, points[0], tangents[0], normals[0], segment * (len(points) - 1), radius,
        thread["mass_mg_per_mm"] / area,
        youngs_modulus=thread["axial_stiffness_mn"] / area,
        shear_modulus=thread["twist_stiffness_mn_mm2"] / polar,
        position=points.T.copy(), directors=np.stack([normals.T, binormals.T, tangents.T]),
    )
    simulator = Simulator()
    simulator.append(rod)
    if task["first_load_mn"] is None:
        simulator.constrain(rod).using(Still, constrained_position_idx=(0,), constrained_director_idx=())
    simulator.add_forcing_to(rod).using(Pull, task, log)
    mass = thread["mass_mg_per_mm"] * segment
    simulator.dampen(rod).using(ea.AnalyticalLinearDamper, time_step=log.dt,
                                uniform_damping_constant=thread["drag_mn_ms_per_mm2"] / thread["mass_mg_per_mm"])
    # As hard as the step allows beside the stretch of a segment, and damped half critically.
    hardness = thread["axial_stiffness_mn"] / segment
    damping = (hardness * mass) ** 0.5
    if task["drum_radius_mm"] is not None:
        drum = ea.Cylinder(np.array([0.0, 0.0, -20.0]), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), 40.0,
                           task["drum_radius_mm"], 1.0)
        simulator.append(drum)
        simulator.constrain(drum).using(Still, constrained_position_idx=(0,), constrained_director_idx=(0,))
        # Friction is c v up to mu N: c as great as the step allows, since the thread creeps at mu N / c.
        simulator.detect_contact_between(rod, drum).using(
            ea.RodCylinderContact, k=hardness, nu=damping, velocity_damping_coefficient=0.25 * mass / log.dt,
            friction_coefficient=thread["friction"])
    if task["touches_itself"]:
        simulator.detect_contact_between(rod, rod).using(ea.RodSelfContact, k=hardness, nu=damping)
    simulator.finalize()
    return simulator, rod


def stepper(task, log):
    simulator, rod = build(task, log)
    verlet, state = ea.PositionVerlet(), {"time": 0.0}

    def advance(times):
        for _ in times:
            state["time"] = verlet.step(simulator, state["time"], log.dt)

    return advance, lambda: rod.position_collection.T


def stable(task, step_ms):
    """Whether the thread stays in place for some steps; also compiles everything before anything is timed."""
    log = Log(task, step_ms, PACE[task["kind"]])
    advance, points = stepper(task, log)
    advance(range(PROBE_STEPS))
    places = np.array(points())
    lengths = np.linalg.norm(np.diff(places, axis=0), axis=1)
    return bool(np.isfinite(places).all()) and bool(np.all(np.abs(lengths / task["segment_mm"] - 1.0) < 0.2))


def runs(task):
    if task["kind"] == "hold":
        return [impossible("not possible: no friction of a rod on itself in PyElastica 1.0 (RodSelfContact presses only)")]
    thread = task["thread"]
    wave = task["segment_mm"] / (thread["axial_stiffness_mn"] / thread["mass_mg_per_mm"]) ** 0.5
    shear = thread["radius_mm"] / (thread["twist_stiffness_mn_mm2"] / thread["mass_mg_per_mm"]) ** 0.5 * (
        thread["radius_mm"] / 2.0**0.5)
    step_ms = next((s * min(wave, shear) for s in SHARES if stable(task, s * min(wave, shear))), None)
    if step_ms is None:
        return [impossible("no stable step found")]
    log = Log(task, step_ms, PACE[task["kind"]], LIMIT_S)
    advance, points = stepper(task, log)
    note = {"end_load": "its own law of finite strain gives 1.6 % more than Hooke's"}.get(task["kind"], "")
    if task["touches_itself"]:
        note = "no friction of a rod on itself;"
    return [log.run(advance, points, "pyelastica", f"step {1e3 * log.dt:.3f} us, loads in {log.pace} of the time", note)]


def impossible(why):
    return {"solver": "pyelastica", "settings": "", "samples": [], "pace": 1.0, "simulated_ms": 0.0, "core_s": 0.0,
            "peak_mib": 0.0, "start_mib": 0.0, "note": why}
