"""What another system does with baywright: estimate in, tasks back, promise, changes watched.

    python integrator_example.py 127.0.0.1:7420 [--shop demo] [--job NAME]

Runs against the demo (`baywright-service demo`). It knows the contract only from server reflection. The
visit that it sends, a mirror replaced on an invented vehicle class of the demo, is its own invention. It
says every step and ends with code 1 and a sentence on the first surprise. `docs/integrator.md` explains it.
"""

import argparse
import datetime
import sys
import time
import uuid

import grpc

from reflected import Reflected, Refused, Surprise

PACKAGE = "baywright.v1"
# Who acts, for the audit trail; the changes that the watch tells are known by it.
ACTOR = "integrator example"
# Seconds before the first repeat, doubled for each, and how often a write is sent in all.
FIRST_PAUSE_S, TRIES = 0.15, 6
# Codes that tell nothing about what became of a write: only the same request, sent again, does.
UNKNOWN_OUTCOME = (grpc.StatusCode.UNAVAILABLE, grpc.StatusCode.DEADLINE_EXCEEDED)


def step(sentence):
    """Says what has been done."""
    print(f"ok  {sentence}", flush=True)


class Client:
    """Calls for one shop."""

    def __init__(self, address, shop_id):
        self.service = Reflected(address.removeprefix("http://"), PACKAGE)
        self.shop_id = shop_id

    def read(self, service, method, **body):
        """A call that changes nothing."""
        return self.service.call(service, method, {"shopId": self.shop_id, **body})

    def write(self, service, method, request_id=None, **body):
        """A write. Its request id is made once and kept for its repeats, so that it happens once."""
        request_id = request_id or str(uuid.uuid4())
        body = {"shopId": self.shop_id, "requestId": request_id, "actor": ACTOR, **body}
        pause_s = FIRST_PAUSE_S
        for tries_left in reversed(range(TRIES)):
            try:
                return self.service.call(service, method, body)
            except Refused as refused:
                if refused.refusal.code not in UNKNOWN_OUTCOME or tries_left == 0:
                    raise
            time.sleep(pause_s)
            pause_s *= 2


class Watch:
    """The shop's changes from now on. After an interruption it goes on with its last token."""

    def __init__(self, client):
        self.client = client
        self.token = ""
        self.begin()
        # The first item of a watch from now on tells the token only: from here on, nothing is missed.
        self.token = next(self.items).resume_token

    def begin(self):
        """Asks for what comes after the token."""
        body = {"shopId": self.client.shop_id, "resumeToken": self.token}
        self.items = self.client.service.stream("WatchService", "WatchChanges", body)

    def change(self):
        """Waits for the next change."""
        for _ in range(TRIES):
            try:
                for item in self.items:
                    # Keep it in the same place, and at the same time, as what the change led to.
                    self.token = item.resume_token
                    if item.HasField("change"):
                        return item.change
            except grpc.RpcError as ended:
                if ended.code() not in UNKNOWN_OUTCOME:
                    raise
            time.sleep(FIRST_PAUSE_S)
            self.begin()
        raise Surprise("The watch told no change.")

    def interrupted(self):
        """What a lost connection does to it."""
        self.items.cancel()
        self.begin()


def estimate_of(job_id, day):
    """A visit of our own invention, on that day."""
    return {
        "jobId": job_id,
        "revision": 1,
        "accountId": "account-1",
        "repairOrder": f"RO-{job_id}",
        "vehicle": {"vehicleClassId": "compact-hatch", "sensors": ["SENSOR_FAMILY_SURROUND_VIEW"]},
        "expectedArrivalTime": f"{day}T08:00:00Z",
        "arrival": "ARRIVAL_KIND_DROP_OFF",
        "promiseTime": f"{day}T15:00:00Z",
        "lines": [{"operationId": "1", "operationCode": "mirror-replaced", "text": "Mirror (invented)"}],
        "weight": 2,
    }


def send_estimate(client, job_id):
    """Sends a wrong estimate, learns what is wrong with it, and sends the right one."""
    today = datetime.date.fromisoformat(client.read("DayService", "GetToday").date)
    right = estimate_of(job_id, today + datetime.timedelta(1))
    call = ("JobService", "SubmitEstimate")
    try:
        client.write(*call, estimate={**right, "weight": 101}, validateOnly=True)
        raise Surprise("An estimate of weight 101 was taken.")
    except Refused as refused:
        # Decide by the reason, never by the sentence.
        if refused.refusal.info is None or refused.refusal.info.reason != "INVALID_FIELDS":
            raise
        for violation in refused.refusal.violations:
            step(f"refused, as it should be: {violation.field}: {violation.description}")
    request_id = str(uuid.uuid4())
    job = client.write(*call, request_id=request_id, estimate=right).job
    again = client.write(*call, request_id=request_id, estimate=right).job
    if again != job:
        raise Surprise("The same request, sent again, was answered otherwise.")
    step(f"job {job_id} is taken; sent again with its request id it gets the same answer")
    return job


def accept(client, job):
    """Accepts what the shop's rules propose, as it was read."""
    proposed = [task for task in job.tasks if task.state == state_of(task, "TASK_STATE_PROPOSED")]
    for task in proposed:
        step(f"proposed: {task.task_id} ({task.title}), by {', '.join(task.called_by_rule_ids)}")
    if not proposed:
        raise Surprise("The rules propose nothing.")
    about = {"jobId": job.job_id}
    ids = [task.task_id for task in proposed]
    # With the etag: had somebody changed the job since, this would be refused with ETAG_MISMATCH.
    client.write("JobService", "DecideTasks", acceptTaskIds=ids, etag=job.etag, **about)
    client.write(
        "JobService", "SignOffPrerequisite", prerequisiteId="authorised",
        evidence="authorised by the account (invented)", **about
    )  # fmt: skip
    step(f"{len(ids)} tasks accepted, the work authorised")


def state_of(task, name):
    """The number of a task's state, from the contract that reflection gave."""
    return task.DESCRIPTOR.fields_by_name["state"].enum_type.values_by_name[name].number


def promise(client, job_id):
    """Plans, and reads whether the promise is kept."""
    plan = client.write("PlanService", "MakePlan", days=3, seed="1").plan
    reply = client.read("DayService", "ListFinishes")
    if reply.plan_revision != plan.revision:
        raise Surprise(f"The finishes rest on plan {reply.plan_revision}, not on {plan.revision}.")
    ours = [finish for finish in reply.finishes if finish.job_id == job_id]
    if len(ours) != 1:
        raise Surprise(f"There are {len(ours)} finishes of {job_id}.")
    finish = ours[0]
    if not finish.HasField("finish_time"):
        raise Surprise(f"No finish is planned: {' '.join(finish.reasons)}")
    told = f"{finish.finish_time.ToJsonString()}, promised {finish.promise_time.ToJsonString()}"
    step(f"plan {plan.revision}: {job_id} finishes {told}, {finish.late_minutes} minutes late")


def follow(watch, job_id):
    """Takes the changes until ours have all been told, each once and in order."""
    wanted = ["SubmitEstimate", "DecideTasks", "SignOffPrerequisite", "MakePlan"]
    numbers = []
    told = []
    while told != wanted:
        change = watch.change()
        # Others work in the shop too; what they do is theirs.
        ours = change.actor == ACTOR and (change.job_id == job_id or change.kind == "plan")
        if not ours:
            continue
        if numbers and change.number <= numbers[-1]:
            raise Surprise(f"Change {change.number} was told after {numbers[-1]}.")
        numbers.append(change.number)
        method = change.method.rpartition("/")[2].rpartition(".")[2]
        told.append(method)
        if told != wanted[: len(told)]:
            raise Surprise(f"The watch told {told}, not {wanted}.")
        step(f"change {change.number}: {change.kind} {change.thing_id} by {method}")
        if len(told) == 2:
            # Nothing is missed, and nothing comes twice.
            watch.interrupted()
    return watch.token


def run(address, shop_id, job_id):
    """The whole example."""
    client = Client(address, shop_id)
    watch = Watch(client)
    step(f"watching shop {shop_id} from change {watch.token} on")
    job = send_estimate(client, job_id)
    accept(client, job)
    promise(client, job_id)
    token = follow(watch, job_id)
    step(f"every change of ours was told; the next watch begins with token {token}")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("address", help="where the service listens, such as 127.0.0.1:7420")
    parser.add_argument("--shop", default="demo", help="the shop; by default the demo's")
    parser.add_argument(
        "--job", default=f"INT-{uuid.uuid4().hex[:8]}", help="name of the job; by default a new one"
    )
    arguments = parser.parse_args()
    try:
        run(arguments.address, arguments.shop, arguments.job)
    except Surprise as surprise:
        print(f"surprise: {surprise}", file=sys.stderr)
        return 1
    except grpc.FutureTimeoutError:
        print(f"surprise: no service answers at {arguments.address}.", file=sys.stderr)
        return 1
    except grpc.RpcError as ended:
        print(f"surprise: {ended.code().name}: {ended.details()}", file=sys.stderr)
        return 1
    print("the integrator met no surprise")
    return 0


if __name__ == "__main__":
    sys.exit(main())
