"""One solver through one task: a task as JSON on stdin, runs as JSON on stdout. See benches/README.md.

    python3 -m venv somewhere && somewhere/bin/pip install -r benches/others/requirements.txt
    KNOTWRIGHT_BENCH_PYTHON=somewhere/bin/python cargo bench --no-default-features --bench compare

Units in here are mm, mN, ms and mg, which are consistent (1 mN/mm2 = 1 kPa).
"""

import json
import resource
import sys
import time

import numpy as np


# Steps between two looks at the clock.
STEPS_A_LOOK = 50


def memory_mib():
    """Most memory so far [MiB]; Linux counts it in KiB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def pull_mn(task, time_ms):
    """Pull on the last node at a time of the task [mN]."""
    times, forces = zip(*task["pull"])
    return float(np.interp(time_ms, times, forces))


def frames(points):
    """Tangents, normals and binormals of the edges, carried on from edge to edge without twist; each shape [n, 3]."""
    tangents = np.diff(points, axis=0)
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    normal = np.cross(tangents[0], np.eye(3)[np.argmin(np.abs(tangents[0]))])
    normals = []
    for tangent in tangents:
        normal = normal - tangent * (normal @ tangent)
        normal /= np.linalg.norm(normal)
        normals.append(normal)
    normals = np.array(normals)
    return tangents, normals, np.cross(tangents, normals)


class Log:
    """Goes through a task: tells a solver to step, takes samples, looks at the clock."""

    def __init__(self, task, step_ms, pace=1.0, limit_s=30.0):
        self.task, self.pace, self.limit_s = task, pace, limit_s
        self.steps = max(1, round(task["sample_ms"] * pace / step_ms))
        # Time of the task and of the simulation in one step.
        self.task_dt = task["sample_ms"] / self.steps
        self.dt = self.task_dt * pace
        self.duration_ms = task["pull"][-1][0]

    def run(self, advance, points, solver, settings, note=""):
        """`advance(task_times)` makes one step at each of these times; `points()` gives the nodes, shape [n, 3]."""
        task, samples, core_s, done = self.task, [], 0.0, 0
        start_mib, first = memory_mib(), np.array(task["points_mm"][0])
        stopped = False
        while not stopped and done * self.task_dt < self.duration_ms - 0.5 * self.task_dt:
            target = done + self.steps
            while done < target and core_s <= self.limit_s:
                times = np.arange(done + 1, min(done + STEPS_A_LOOK, target) + 1) * self.task_dt
                began = time.process_time()
                advance(times)
                core_s += time.process_time() - began
                done += len(times)
            places = np.asarray(points(), dtype=float)
            bad = not np.isfinite(places).all() or np.abs(places).max() > 1e4
            # JSON has no infinities; so far away counts as blown up.
            places = np.nan_to_num(places, nan=1e9, posinf=1e9, neginf=-1e9)
            samples.append({"time_ms": done * self.task_dt, "points_mm": places.tolist()})
            stopped = bad or np.linalg.norm(places[0] - first) > task["ends_after_mm"]
            if not stopped and core_s > self.limit_s:
                stopped = True
                share = done * self.task_dt / self.duration_ms
                whole_h = core_s / share / self.pace / 3600.0
                note = f"{note} stopped after {100 * share:.2g} % of it; extrapolated: {whole_h:.2g} h for all of it"
        return {"solver": solver, "settings": settings, "samples": samples, "pace": self.pace,
                "simulated_ms": done * self.dt, "core_s": core_s, "peak_mib": memory_mib(), "start_mib": start_mib,
                "note": note.strip()}


def main():
    task = json.load(sys.stdin)
    if sys.argv[1] == "pyelastica":
        import cosserat
        runs = cosserat.runs(task)
    else:
        import cable
        runs = cable.runs(task)
    json.dump(runs, sys.stdout)


if __name__ == "__main__":
    main()
