"""One job from estimate to hand-back, by a client that shares no code with the service.

    python outside_client.py 127.0.0.1:7420 [--day YYYY-MM-DD]

`--day` is the UTC date of the service's clock; by default today. The client applies a small invented
shop of its own, under a fresh name, so that it can be run again on the same service. It prints every
step, and ends with code 1 and a sentence on the first surprise.
"""

import argparse
import datetime
import json
import string
import sys
import uuid
from pathlib import Path

import grpc

from reflected import Reflected, Surprise

PACKAGE = "baywright.v1"
SERVICES = [
    "FitService", "HandBackService", "JobService", "PlanService", "ShopService", "SurveyService",
    "WorkService",
]  # fmt: skip
ACTOR = "outside client"
TECHNICIAN = "dora"
JOB = "OUT-1"
# The tasks in the only order that the shop's rules allow.
ORDER = ["look", "scan-before", "radar", "scan-after"]
# Millimetres between the surveyed points, and the bay's size.
STEP_MM, LENGTH_MM, WIDTH_MM = 500, 10_000, 6_000


def expect(holds, sentence):
    """Raises the sentence as a surprise where something does not hold."""
    if not holds:
        raise Surprise(sentence)


def step(sentence):
    """Says what has been done."""
    print(f"ok  {sentence}", flush=True)


class Walk:
    """The walk of one job through one service."""

    def __init__(self, service, day):
        self.service = service
        self.day = day
        self.shop_id = f"outside-{uuid.uuid4().hex[:12]}"

    def write(self, service, method, **body):
        """A write with a request id of its own."""
        return self.service.call(service, method, self.body(**body))

    def body(self, request_id=None, **body):
        """The usual fields of a write, and those given."""
        return {"shopId": self.shop_id, "requestId": request_id or str(uuid.uuid4()), **body}

    def equal_when_repeated(self, service, method, body):
        """Sends the same request twice: the answers must be equal. Returns the answer."""
        first = self.service.call(service, method, body)
        again = self.service.call(service, method, body)
        expect(first == again, f"{method} sent twice with one request id gave two answers.")
        step(f"{method} repeated with its request id: the same answer")
        return first

    def refused_for(self, code, reason, service, method, body):
        """A call that must be refused so; returns the refusal."""
        refusal = self.service.refused(service, method, body)
        expect(refusal.code == code, f"{method} was refused with {refusal.code}, not with {code}.")
        expect(refusal.info is not None, f"{method} was refused without google.rpc.ErrorInfo.")
        found = (refusal.info.domain, refusal.info.reason)
        expect(found == ("baywright", reason), f"{method} was refused for {found}, not for {reason}.")
        step(f"{method} refused for {reason}: {refusal.sentence}")
        return refusal

    def shop(self):
        """Applies the shop, first without effect."""
        text = Path(__file__).with_name("outside_shop.json").read_text(encoding="utf-8")
        dates = {"YESTERDAY": -1, "NEXT_MONTH": 30}
        dates = {name: str(self.day + datetime.timedelta(days)) for name, days in dates.items()}
        definition = json.loads(string.Template(text).substitute(dates, SHOP=self.shop_id))
        body = {"definition": definition, "requestId": str(uuid.uuid4()), "actor": ACTOR}
        tried = self.service.call("ShopService", "ApplyShop", {**body, "validateOnly": True})
        asked = {"shopId": self.shop_id}
        self.refused_for(grpc.StatusCode.NOT_FOUND, "NOT_FOUND", "ShopService", "GetShop", asked)
        applied = self.service.call("ShopService", "ApplyShop", body)
        expect(len(applied.changes) > 0, "ApplyShop changed nothing.")
        expect(tried.changes == applied.changes, "ApplyShop did otherwise than its trial said.")
        step(f"shop {self.shop_id} applied: {len(applied.changes)} changes, as the trial said")

    def survey(self):
        """Surveys the bay: level and flat (invented)."""
        heights = [
            {"xMm": x, "yMm": y, "heightMm": 0}
            for x in range(0, LENGTH_MM + 1, STEP_MM)
            for y in range(0, WIDTH_MM + 1, STEP_MM)
        ]
        survey = {
            "surveyId": "flat",
            "bayId": "bay-a",
            "takenOn": str(self.day - datetime.timedelta(1)),
            "validUntil": str(self.day + datetime.timedelta(30)),
            "instrument": "invented",
            "heightUncertaintyMm": 0.5,
            "heights": heights,
        }
        self.write("SurveyService", "RecordSurvey", survey=survey, actor=ACTOR)
        fits = self.service.call("FitService", "ListFits", {"shopId": self.shop_id}).fits
        verdicts = {(fit.procedure_id, fit.bay_id): fit.WhichOneof("verdict") for fit in fits}
        expect(
            verdicts == {("radar", "bay-a"): "fits"},
            f"The fits of a level, empty bay are {verdicts}, not that the radar fits.",
        )
        step("bay-a surveyed; the radar fits there")

    def estimate(self):
        """Sends a wrong estimate, then a right one twice, then another under its request id."""
        noon = f"{self.day}T12:00:00Z"
        right = {
            "jobId": JOB,
            "revision": 1,
            "accountId": "account-a",
            "repairOrder": "RO-1",
            "vehicle": {"vehicleClassId": "small-hatch", "sensors": ["SENSOR_FAMILY_FRONT_RADAR"]},
            "expectedArrivalTime": f"{self.day - datetime.timedelta(1)}T12:00:00Z",
            "arrival": "ARRIVAL_KIND_DROP_OFF",
            "promiseTime": noon,
            "lines": [{"operationId": "1", "operationCode": "front-bumper-removed"}],
        }
        call = ("JobService", "SubmitEstimate")
        wrong = self.body(actor=ACTOR, estimate={**right, "weight": 101, "lines": []})
        refusal = self.refused_for(
            grpc.StatusCode.INVALID_ARGUMENT, "INVALID_FIELDS", *call, wrong
        )
        fields = sorted(violation.field for violation in refusal.violations)
        expect(
            fields == ["estimate.lines", "estimate.weight"],
            f"google.rpc.BadRequest names {fields}, not the two fields that are wrong.",
        )
        expect(
            all(violation.description for violation in refusal.violations),
            "A violation of google.rpc.BadRequest says nothing.",
        )
        step(f"google.rpc.BadRequest names every fault: {', '.join(fields)}")
        sent = self.body(actor=ACTOR, estimate=right)
        job = self.equal_when_repeated(*call, sent).job
        tasks = sorted(task.task_id for task in job.tasks)
        expect(tasks == sorted(ORDER), f"The rules propose {tasks}, not {sorted(ORDER)}.")
        other = {**sent, "estimate": {**right, "repairOrder": "RO-2"}}
        self.refused_for(grpc.StatusCode.INVALID_ARGUMENT, "REQUEST_ID_REUSED", *call, other)

    def prepare(self):
        """Accepts, notes the arrival, signs off."""
        about = {"jobId": JOB, "actor": ACTOR}
        self.write("JobService", "DecideTasks", acceptAll=True, **about)
        job = self.write("JobService", "RecordArrival", spotId="yard", **about).job
        expect(job.HasField("arrived_time"), "The arrival left no time.")
        self.write(
            "JobService", "SignOffPrerequisite", prerequisiteId="authorised",
            evidence="order signed (invented)", **about
        )  # fmt: skip
        step("every task accepted, the vehicle is here, the work authorised")

    def plan(self):
        """Plans: every task, in order, nothing left."""
        plan = self.write("PlanService", "MakePlan", actor=ACTOR).plan
        by_start = sorted(plan.assignments, key=lambda one: one.start_time.ToNanoseconds())
        planned = [one.task_id for one in by_start]
        expect(planned == ORDER, f"Planned is {planned}, not {ORDER}.")
        expect(not plan.unplanned, f"Left out of the plan: {list(plan.unplanned)}.")
        expect(plan.bound <= plan.cost, f"Bound {plan.bound} lies above cost {plan.cost}.")
        step(f"plan {plan.revision}: {', '.join(planned)}")

    def work(self):
        """Pulls, starts and finishes every task."""
        for task_id in ORDER:
            pull = self.body(technicianId=TECHNICIAN)
            holding = self.equal_when_repeated("WorkService", "PullTask", pull).holding
            expect(
                holding.task_id == task_id,
                f"The pull gave task {holding.task_id}, not {task_id}.",
            )
            expect(holding.caution != "", "A holding came without its caution.")
            self.start(holding)
            record = self.write(
                "WorkService", "FinishTask", holding=key(holding), note="done (invented)"
            ).record
            expect(record.task.task_id == task_id, f"The record is of {record.task.task_id}.")
            step(f"{task_id} passed; record {record.number} has {len(record.statements)} statements")
        pull = self.body(technicianId=TECHNICIAN)
        self.refused_for(
            grpc.StatusCode.FAILED_PRECONDITION, "NOTHING_READY", "WorkService", "PullTask", pull
        )

    def start(self, holding):
        """Starts what is held; where there are checks, first without answers."""
        asked = [check.check_id for check in holding.start_checks]
        if asked:
            body = self.body(holding=key(holding))
            refusal = self.refused_for(
                grpc.StatusCode.FAILED_PRECONDITION, "START_CHECK_NOT_MET",
                "WorkService", "StartTask", body,
            )  # fmt: skip
            unmet = sorted(refusal.info.metadata)
            expect(unmet == sorted(asked), f"Refused for the checks {unmet}, not for {asked}.")
        answers = [{"checkId": check, "met": True, "evidence": "seen (invented)"} for check in asked]
        started = self.write("WorkService", "StartTask", holding=key(holding), answers=answers)
        expect(started.holding.HasField("started_time"), "The start left no time.")
        where = f"at {holding.place.bay_id}" if holding.HasField("place") else "where it stands"
        step(f"{holding.task_id} started {where} after {len(asked)} checks")

    def hand_back(self, allowed):
        """Asks whether the vehicle may leave, and hands it back or is refused."""
        about = {"shopId": self.shop_id, "jobId": JOB}
        check = self.service.call("HandBackService", "CheckHandBack", about)
        expect(check.allowed == allowed, f"May it leave? The service says {check.allowed}.")
        expect(check.allowed == (len(check.reasons) == 0), "Verdict and reasons disagree.")
        body = self.body(jobId=JOB, actor=ACTOR)
        if not allowed:
            self.refused_for(
                grpc.StatusCode.FAILED_PRECONDITION, "HAND_BACK_REFUSED",
                "HandBackService", "HandBackVehicle", body,
            )  # fmt: skip
            return
        self.equal_when_repeated("HandBackService", "HandBackVehicle", body)
        job = self.service.call("JobService", "GetJob", about).job
        expect(job.HasField("handed_back_time"), "The hand-back left no time.")
        records = self.service.call("WorkService", "ListConditionsRecords", about).records
        kept = [record.task.task_id for record in records]
        expect(kept == ORDER, f"Records are kept of {kept}, not of {ORDER}.")
        step(f"job {JOB} handed back; {len(kept)} records are kept")


def key(holding):
    """The holder's word for which holding is meant."""
    return {
        "jobId": holding.job_id,
        "taskId": holding.task_id,
        "technicianId": holding.technician_id,
        "fence": str(holding.fence),
    }


def walk(address, day):
    """The whole walk."""
    service = Reflected(address, PACKAGE)
    found = service.services()
    expect(found == SERVICES, f"Reflection lists {found}, not {SERVICES}.")
    step(f"reflection lists {len(found)} services of {PACKAGE}")
    one = Walk(service, day)
    one.shop()
    one.survey()
    one.estimate()
    one.prepare()
    one.plan()
    one.hand_back(allowed=False)
    one.work()
    one.hand_back(allowed=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("address", help="where the service listens, such as 127.0.0.1:7420")
    parser.add_argument(
        "--day",
        type=datetime.date.fromisoformat,
        default=datetime.datetime.now(datetime.timezone.utc).date(),
        help="UTC date of the service's clock; by default today",
    )
    arguments = parser.parse_args()
    try:
        walk(arguments.address, arguments.day)
    except Surprise as surprise:
        print(f"surprise: {surprise}", file=sys.stderr)
        return 1
    except grpc.FutureTimeoutError:
        print(f"surprise: no service answers at {arguments.address}.", file=sys.stderr)
        return 1
    print("the outside client met no surprise")
    return 0


if __name__ == "__main__":
    sys.exit(main())
