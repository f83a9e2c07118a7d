#!/usr/bin/env python3
"""A planning problem given to a general-purpose constraint solver: what our plans are measured against.

    python3 -m venv venv && venv/bin/pip install -r tests/python/requirements.txt
    venv/bin/python tests/reference/plan_with_cp_sat.py DAY.json --out PLAN.json --whole 60 --near 90 --threads 2

The solver is CP-SAT of OR-Tools (https://pypi.org/project/ortools). It first works on the whole model for `--whole` seconds,
then, for `--near` seconds, on a few jobs at a time while the others stand (large neighbourhood search: Shaw, "Using
constraint programming and local search methods to solve vehicle routing problems", CP 1998). The plan is written in the
format of ours; its bound is the solver's own. Prints cost, bound, status and seconds, one line of JSON a problem.

Shares no code with the planner. Fixed steps that collide with each other are refused: the model has no place for them.
"""

import argparse
import json
import random
import time
from dataclasses import dataclass, field

from ortools.sat.python import cp_model


@dataclass
class Step:
    """One step of a job in the model: variables, and the literals of its ways."""

    start: object
    end: object
    hold_end: object
    options: list
    # Per option and need, the literal of each resource.
    uses: list = field(default_factory=list)


class Model:
    """The whole problem as constraints; times in minutes."""

    def __init__(self, problem):
        self.problem = problem
        self.model = cp_model.CpModel()
        self.horizon = problem["horizon"]
        self.now = problem.get("now", 0)
        self.cost = {k: problem.get("cost", {}).get(k, 0) for k in ("lateness", "finish", "move", "change", "makespan")}
        fixed = [f for j in problem["jobs"] for f in j.get("fixed", {}).values()]
        self.first = min([0, self.now] + [f["start"] for f in fixed])
        # A fixed step may end behind the horizon.
        self.last = self.horizon + sum(longest(j) for j in problem["jobs"]) if fixed else self.horizon
        self.open = {p["id"]: p.get("open") for p in problem.get("places", [])}
        self.free = {r["id"]: r.get("open") for r in problem.get("resources", [])}
        self.on_resource = {r: [] for r in self.free}
        self.on_place = {p: [] for p in self.open}
        self.terms = []
        self.finishes = []
        self.jobs = [self.add_job(job) for job in problem["jobs"]]
        for intervals in self.on_resource.values():
            self.model.add_no_overlap(intervals)
        for intervals in self.on_place.values():
            self.model.add_no_overlap(intervals)
        for one, other in problem.get("clashes", []):
            self.model.add_no_overlap(self.on_place[one] + self.on_place[other])
        if self.cost["makespan"]:
            span = self.model.new_int_var(0, self.last, "span")
            for finish, present in self.finishes:
                self.model.add(span >= finish).only_enforce_if(present)
            self.terms.append(self.cost["makespan"] * span)
        self.model.minimize(sum(self.terms))

    def add_job(self, job):
        model, name = self.model, job["id"]
        may_stay_out = job.get("leave_out_cost") is not None and not job.get("fixed")
        present = model.new_bool_var(name)
        if not may_stay_out:
            model.add(present == 1)
        steps = {step["id"]: self.add_step(job, step, present) for step in job["steps"]}
        self.add_order(job, steps, present)
        finish = model.new_int_var(self.first, self.last, f"{name} finish")
        model.add_max_equality(finish, [step.end for step in steps.values()])
        self.finishes.append((finish, present))
        # What costs only where the job is planned.
        paid = model.new_int_var(min(0, self.cost["finish"] * self.first), 10**13, f"{name} paid")
        late = model.new_int_var(0, max(0, self.last - job.get("due", self.last)), f"{name} late")
        if "due" in job and job["due"] is not None:
            model.add(late >= finish - job["due"]).only_enforce_if(present)
        lateness = self.cost["lateness"] * job.get("weight", 1) * late
        model.add(paid >= self.cost["finish"] * finish + lateness).only_enforce_if(present)
        self.terms.append(paid)
        if may_stay_out:
            model.add(paid == 0).only_enforce_if(present.negated())
            self.terms.append(job["leave_out_cost"] * present.negated())
        for step, was in job.get("previous", {}).items():
            self.terms.append(self.cost["change"] * self.changed(job, step, was, steps[step]))
        return {"present": present, "steps": steps}

    def add_step(self, job, step, present):
        model, name = self.model, f"{job['id']} {step['id']}"
        fixed = job.get("fixed", {}).get(step["id"])
        begin = self.first if fixed else max(self.now, job.get("release", 0), step.get("release", 0), self.first)
        if begin > self.horizon and not fixed:
            begin = self.horizon
            model.add(present == 0)
        start = model.new_int_var(begin, self.last, f"{name} start")
        end = model.new_int_var(self.first, self.last, f"{name} end")
        made = Step(start, end, model.new_int_var(self.first, self.last, f"{name} hold"), [])
        model.add(made.hold_end >= end)
        if not fixed:
            model.add(end <= self.horizon).only_enforce_if(present)
        for number, option in enumerate(step["options"]):
            taken = model.new_bool_var(f"{name} {number}")
            made.options.append(taken)
            minutes = fixed.get("minutes", option["minutes"]) if fixed else option["minutes"]
            model.add(end == start + minutes).only_enforce_if(taken)
            if not fixed:
                self.within(option.get("starts"), start, 1, taken)
                self.within(self.open.get(option.get("place")), start, minutes, taken)
            if option.get("place") is not None:
                size = model.new_int_var(0, self.last - self.first, f"{name} {number} size")
                hold = model.new_optional_interval_var(start, size, made.hold_end, taken, f"{name} {number} hold")
                self.on_place[option["place"]].append(hold)
            made.uses.append(self.add_needs(option, taken, start, minutes, end, fixed, f"{name} {number}"))
        model.add_exactly_one(made.options + [present.negated()])
        if fixed:
            model.add(start == fixed["start"])
            model.add(made.options[fixed["option"]] == 1)
            for literals, used in zip(made.uses[fixed["option"]], fixed["uses"]):
                model.add(literals[used] == 1)
        return made

    def add_needs(self, option, taken, start, minutes, end, fixed, name):
        model, groups = self.model, []
        for at, group in enumerate(option.get("needs", [])):
            literals = {}
            for used in group:
                literal = model.new_bool_var(f"{name} need {at} {used}")
                model.add_implication(literal, taken)
                if not fixed:
                    self.within(self.free[used], start, minutes, literal)
                interval = model.new_optional_interval_var(start, minutes, end, literal, f"{name} {at} {used}")
                self.on_resource[used].append(interval)
                literals[used] = literal
            model.add(sum(literals.values()) == taken)
            groups.append(literals)
        # Never the same resource for two needs.
        for at, one in enumerate(groups):
            for other in groups[:at]:
                for used in one.keys() & other.keys():
                    model.add_at_most_one(one[used], other[used])
        return groups

    def within(self, windows, start, minutes, literal):
        """A start so that so many minutes fit whole into one window."""
        if windows is None:
            return
        spans = [[a, b - minutes] for a, b in windows if b - minutes >= a]
        domain = cp_model.Domain.from_intervals(spans)
        self.model.add_linear_expression_in_domain(start, domain).only_enforce_if(literal)

    def add_order(self, job, steps, present):
        model, fixed = self.model, job.get("fixed", {})
        for number, step in enumerate(job["steps"]):
            before = job["steps"][number - 1]["id"] if number else None
            after = step.get("after", {before: 0} if before else {})
            for earlier, gap in after.items():
                if not (earlier in fixed and step["id"] in fixed):
                    model.add(steps[step["id"]].start >= steps[earlier].end + gap).only_enforce_if(present)
        names = [step["id"] for step in job["steps"]]
        options = {step["id"]: step["options"] for step in job["steps"]}
        arcs = [(0, 0, present.negated())]
        for at, one in enumerate(names):
            arcs.append((at + 1, at + 1, present.negated()))
            arcs.append((0, at + 1, model.new_bool_var(f"{job['id']} first {one}")))
            arcs.append((at + 1, 0, model.new_bool_var(f"{job['id']} last {one}")))
            for to, other in enumerate(names):
                if to != at:
                    follows = model.new_bool_var(f"{job['id']} {one} {other}")
                    arcs.append((at + 1, to + 1, follows))
                    both_fixed = one in fixed and other in fixed
                    self.follow(job, (steps[one], options[one]), (steps[other], options[other]), follows, both_fixed)
        model.add_circuit(arcs)

    def follow(self, job, one, other, follows, both_fixed):
        """The second step comes next after the first; they stay, or the vehicle moves."""
        model, pause = self.model, job.get("move_minutes", 0)
        (first, ways), (second, next_ways) = one, other
        # Of two fixed steps, which do not collide, only the order counts.
        model.add(second.start >= (first.start if both_fixed else first.end)).only_enforce_if(follows)
        moved = model.new_bool_var("")
        for way, taken in zip(ways, first.options):
            for next_way, next_taken in zip(next_ways, second.options):
                together = [follows, taken, next_taken]
                if way.get("place") != next_way.get("place"):
                    if not both_fixed:
                        model.add(second.start >= first.end + pause).only_enforce_if(together)
                    model.add_bool_or([moved, *(literal.negated() for literal in together)])
                elif way.get("place") is not None:
                    model.add(first.hold_end >= second.start).only_enforce_if(together)
        self.terms.append(self.cost["move"] * moved)

    def changed(self, job, name, was, step):
        """Whether a step stands otherwise than before."""
        model = self.model
        same = model.new_bool_var(f"{job['id']} {name} same")
        option = was.get("option")
        if option is None or option >= len(step.options):
            model.add(same == 0)
            return 1 - same
        model.add(step.start == was["start"]).only_enforce_if(same)
        model.add_implication(same, step.options[option])
        groups = step.uses[option]
        if len(groups) != len(was.get("uses", [])) or any(u not in g for g, u in zip(groups, was["uses"])):
            model.add(same == 0)
            return 1 - same
        for group, used in zip(groups, was["uses"]):
            model.add_implication(same, group[used])
        return 1 - same

    def stand_as(self, plan, jobs, as_hint):
        """The given jobs stand as in a plan, or the search begins with that."""
        for name, made in zip((j["id"] for j in self.problem["jobs"]), self.jobs):
            if name not in jobs:
                continue
            stands = plan[name]
            values = [(made["present"], int(not stands.get("left_out", False)))]
            for placed in stands.get("steps", []):
                step = made["steps"][placed["id"]]
                values.append((step.start, placed["start"]))
                values += [(taken, int(n == placed["option"])) for n, taken in enumerate(step.options)]
                for group, used in zip(step.uses[placed["option"]], placed["uses"]):
                    values += [(literal, int(r == used)) for r, literal in group.items()]
            for variable, value in values:
                if as_hint:
                    self.model.add_hint(variable, value)
                else:
                    self.model.add(variable == value)

    def plan(self, solver):
        """The jobs as the solver has put them, by name."""
        plan = {}
        for job, made in zip(self.problem["jobs"], self.jobs):
            if not solver.value(made["present"]):
                plan[job["id"]] = {"id": job["id"], "left_out": True}
                continue
            steps = []
            for name, step in made["steps"].items():
                option = next(n for n, taken in enumerate(step.options) if solver.value(taken))
                uses = [next(r for r, lit in group.items() if solver.value(lit)) for group in step.uses[option]]
                steps.append({"id": name, "start": solver.value(step.start), "option": option, "uses": uses})
            plan[job["id"]] = {"id": job["id"], "steps": steps}
        return plan


def longest(job):
    """At most so many minutes of a job lie behind the horizon."""
    ends = [f["start"] + f.get("minutes", 0) for f in job.get("fixed", {}).values()]
    return sum(max(o["minutes"] for o in s["options"]) for s in job["steps"]) + max(ends, default=0)


def solve(model, seconds, threads, seed):
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = threads
    solver.parameters.random_seed = seed
    return solver, solver.solve(model.model)


def improve(problem, plan, cost, arguments):
    """A few jobs at a time, for the rest of the seconds."""
    chance = random.Random(arguments.seed)
    names = [job["id"] for job in problem["jobs"]]
    until = time.monotonic() + arguments.near
    size = 4
    while time.monotonic() < until:
        free = set(chance.sample(names, min(size, len(names))))
        model = Model(problem)
        model.stand_as(plan, set(names) - free, as_hint=False)
        model.stand_as(plan, free, as_hint=True)
        left = max(0.1, min(10.0, until - time.monotonic()))
        solver, status = solve(model, left, arguments.threads, arguments.seed)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) and round(solver.objective_value) < cost:
            cost, plan = round(solver.objective_value), model.plan(solver)
        # Larger neighbourhoods as long as they are solved to the end.
        size = min(size + 1, 16) if status == cp_model.OPTIMAL else max(size - 1, 4)
    return plan, cost


def collide(problem):
    """Whether two fixed steps of the problem hold the same at the same time."""
    spans = []
    for job in problem["jobs"]:
        for name, fixed in job.get("fixed", {}).items():
            option = next(s for s in job["steps"] if s["id"] == name)["options"][fixed["option"]]
            place = option.get("place")
            clashing = {p for pair in problem.get("clashes", []) if place in pair for p in pair}
            holds = {job["id"], *fixed["uses"]} | ({place} | clashing if place is not None else set())
            spans.append((fixed["start"], fixed["start"] + fixed.get("minutes", option["minutes"]), holds))
    for at, (start, end, holds) in enumerate(spans):
        for other_start, other_end, other in spans[:at]:
            if start < other_end and other_start < end and holds & other:
                return True
    return False


def work_on(problem, arguments):
    """What comes out, and the plan where there is one."""
    if collide(problem):
        return {"status": "refused, fixed steps collide"}, None
    began = time.monotonic()
    model = Model(problem)
    solver, status = solve(model, arguments.whole, arguments.threads, arguments.seed)
    if status == cp_model.INFEASIBLE:
        return {"status": "impossible"}, None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return {"status": "no plan found"}, None
    plan, cost, bound = model.plan(solver), round(solver.objective_value), round(solver.best_objective_bound)
    if status != cp_model.OPTIMAL and arguments.near > 0:
        plan, cost = improve(problem, plan, cost, arguments)
    word = "proved-best" if cost <= bound else "feasible"
    found = {"cost": cost, "bound": bound, "status": word, "seconds": round(time.monotonic() - began, 2)}
    return found, [plan[job["id"]] for job in problem["jobs"]]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("problem", nargs="+")
    parser.add_argument("--out", help="the file of the plan, for a single problem")
    parser.add_argument("--whole", type=float, default=60.0, help="seconds on the whole model")
    parser.add_argument("--near", type=float, default=0.0, help="seconds on a few jobs at a time")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    if arguments.out and len(arguments.problem) > 1:
        parser.error("--out takes the plan of one problem: give one, or leave --out away")
    for name in arguments.problem:
        with open(name, encoding="utf-8") as file:
            problem = json.load(file)
        found, jobs = work_on(problem, arguments)
        print(json.dumps({"problem": name, **found}), flush=True)
        if arguments.out and jobs is not None:
            head = {"format": "planning-plan/1", **{key: found[key] for key in ("cost", "bound", "status")}}
            seeds = {"seed": arguments.seed, "threads": arguments.threads, "epochs": 0}
            with open(arguments.out, "w", encoding="utf-8") as file:
                json.dump({**head, **seeds, "jobs": jobs}, file, indent=1)


if __name__ == "__main__":
    main()
