"""MuJoCo's cable: a tree of capsules on ball joints, bending and twisting by the plugin `mujoco.elasticity.cable`.

It does not stretch, by design. Friction cones elliptic, `impratio` and the pass against slip as its
documentation advises where slip matters.
"""

import mujoco
import numpy as np

from run import Log, pull_mn

# How long one choice may step [s].
LIMIT_S = {"end_load": 10.0, "capstan": 60.0, "overhand": 12.0, "hold": 12.0}
# Step [ms], how much heavier the thread is made than it is, and the time in which its bending dies out [ms]. Its mass plays
# no part in these slow tasks; bending and tension are explicit in this engine, so that light capsules ask for short steps.
CHOICES = ((2.0, 1.0, 1.0), (0.05, 1.0, 1.0), (0.5, 1e6, 300.0), (0.2, 1e5, 300.0))


def solver(task):
    """Newton's method as advised, but for the long chain of the knots, whose mass matrix is dense: there the other is faster."""
    return "CG" if task["touches_itself"] else "Newton"


def model(task, step_ms, mass_scale, dying_ms):
    thread, segment = task["thread"], task["segment_mm"]
    points = np.array(task["points_mm"])
    radius = thread["radius_mm"]
    bend = thread["bending_stiffness_mn_mm2"] / (0.25 * np.pi * radius**4)
    twist = thread["twist_stiffness_mn_mm2"] / (0.5 * np.pi * radius**4)
    # A capsule weighs what its segment does, although its caps overlap its neighbours'.
    volume = np.pi * radius**2 * segment + 4.0 / 3.0 * np.pi * radius**3
    density = thread["mass_mg_per_mm"] * segment / volume * mass_scale
    damping = thread["bending_stiffness_mn_mm2"] / segment * dying_ms
    contact = f'friction="{thread["friction"]} 0 0" condim="3" solref="{4.0 * step_ms} 1" solimp="0.9 0.99 0.001"'
    drum = "" if task["drum_radius_mm"] is None else (
        f'<geom type="capsule" size="{task["drum_radius_mm"]} 20" {contact}/>')
    start = "ball" if task["first_load_mn"] is None else "free"
    vertices = " ".join(f"{v:.9g}" for v in (points - points[0]).ravel())
    offset = " ".join(f"{v:.9g}" for v in points[0])
    collide = 'contype="1" conaffinity="1"' if task["touches_itself"] else 'contype="1" conaffinity="2"'
    collide_drum = drum.replace("/>", ' contype="2" conaffinity="1"/>')
    return mujoco.MjModel.from_xml_string(f"""
<mujoco>
  <extension><plugin plugin="mujoco.elasticity.cable"/></extension>
  <compiler autolimits="true"/>
  <size memory="200M"/>
  <option timestep="{step_ms}" gravity="0 0 0" integrator="implicitfast" solver="{solver(task)}" cone="elliptic" impratio="10"
          noslip_iterations="10" tolerance="1e-10"/>
  <worldbody>
    {collide_drum}
    <composite type="cable" initial="{start}" vertex="{vertices}" offset="{offset}">
      <plugin plugin="mujoco.elasticity.cable">
        <config key="twist" value="{twist}"/><config key="bend" value="{bend}"/><config key="flat" value="true"/>
      </plugin>
      <joint kind="main" damping="{damping}"/>
      <geom type="capsule" size="{radius}" density="{density}" {contact} {collide}/>
    </composite>
  </worldbody>
</mujoco>""")


class Cable:
    def __init__(self, task, log, mass_scale, dying_ms):
        self.task, self.segment = task, task["segment_mm"]
        self.model = model(task, log.dt, mass_scale, dying_ms)
        self.data = mujoco.MjData(self.model)
        # The capsules' bodies follow the world and the body that carries the cable.
        self.bodies = np.arange(self.model.nbody - (len(task["points_mm"]) - 1), self.model.nbody)
        self.way = np.array(task["way"])
        self.first = None if task["first_load_mn"] is None else np.array(task["first_load_mn"])
        mujoco.mj_forward(self.model, self.data)

    def tip(self):
        body = self.bodies[-1]
        length = 2.0 * self.model.geom_size[self.model.body_geomadr[body]][1]
        return self.data.xpos[body] + self.data.xmat[body].reshape(3, 3) @ np.array([length, 0.0, 0.0])

    def points(self):
        # The engine starts anew by itself when it has become unstable: that is no result.
        if self.data.warning[mujoco.mjtWarning.mjWARN_BADQACC].number:
            return np.full((len(self.bodies) + 1, 3), np.nan)
        return np.vstack([self.data.xpos[self.bodies], self.tip()])

    def advance(self, times):
        zero = np.zeros(3)
        for time_ms in times:
            self.data.qfrc_applied[:] = 0.0
            pulls = [(self.way * pull_mn(self.task, time_ms), self.tip(), self.bodies[-1])]
            if self.first is not None:
                pulls.append((self.first, self.data.xpos[self.bodies[0]].copy(), self.bodies[0]))
            for force, place, body in pulls:
                mujoco.mj_applyFT(self.model, self.data, force, zero, place, int(body), self.data.qfrc_applied)
            mujoco.mj_step(self.model, self.data)


def runs(task):
    found = []
    for step_ms, mass_scale, dying_ms in CHOICES:
        log = Log(task, step_ms, 1.0, LIMIT_S[task["kind"]])
        cable = Cable(task, log, mass_scale, dying_ms)
        note = "does not stretch, by design" if task["kind"] == "end_load" else ""
        settings = f"step {log.dt:.3f} ms, mass x {mass_scale:g}, damping {dying_ms:g} ms, {solver(task)}, implicitfast, no-slip 10"
        found.append(log.run(cable.advance, cable.points, "mujoco", settings, note))
        if task["kind"] == "end_load":
            break
    return found
