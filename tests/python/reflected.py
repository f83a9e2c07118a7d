"""A service met through server reflection: no generated code, no contract at hand.

Messages are made from JSON text, so that this client knows of the contract only what reflection
tells it.
"""

import json

import grpc
from google.protobuf import descriptor_pool, json_format, message_factory
from google.rpc import error_details_pb2
from grpc_reflection.v1alpha.proto_reflection_descriptor_database import (
    ProtoReflectionDescriptorDatabase,
)
from grpc_status import rpc_status

# Seconds that one call may take.
DEADLINE_S = 60


class Surprise(Exception):
    """Something that the service should not have done; its text is a sentence."""


class Refusal:
    """A refused call: its code, its sentence and its `google.rpc` details."""

    def __init__(self, error):
        self.code = error.code()
        self.sentence = error.details()
        self.info = None
        self.violations = []
        status = rpc_status.from_call(error)
        for packed in status.details if status is not None else []:
            info, bad_request = error_details_pb2.ErrorInfo(), error_details_pb2.BadRequest()
            if packed.Unpack(info):
                self.info = info
            elif packed.Unpack(bad_request):
                self.violations = list(bad_request.field_violations)


class Reflected:
    """The services of one package behind an address."""

    def __init__(self, address, package):
        self.package = package
        self.channel = grpc.insecure_channel(address)
        grpc.channel_ready_future(self.channel).result(timeout=DEADLINE_S)
        self.database = ProtoReflectionDescriptorDatabase(self.channel)
        self.pool = descriptor_pool.DescriptorPool(self.database)

    def services(self):
        """The names of the package's services."""
        prefix = self.package + "."
        return sorted(
            name.removeprefix(prefix)
            for name in self.database.get_services()
            if name.startswith(prefix)
        )

    def call(self, service, method, body):
        """Makes a call with `body` (a dictionary in canonical JSON form) and returns the reply."""
        request, send = self.prepared(self.channel.unary_unary, service, method, body)
        try:
            return send(request, timeout=DEADLINE_S)
        except grpc.RpcError as error:
            raise Refused(method, error) from error

    def stream(self, service, method, body, timeout_s=DEADLINE_S):
        """Makes a call that is answered by a stream and returns the stream."""
        request, send = self.prepared(self.channel.unary_stream, service, method, body)
        return send(request, timeout=timeout_s)

    def prepared(self, sort, service, method, body):
        """The request of a call, and what sends it."""
        descriptor = self.pool.FindServiceByName(f"{self.package}.{service}").FindMethodByName(method)
        request = message_factory.GetMessageClass(descriptor.input_type)()
        json_format.Parse(json.dumps(body), request, descriptor_pool=self.pool)
        reply = message_factory.GetMessageClass(descriptor.output_type)
        send = sort(
            f"/{self.package}.{service}/{method}",
            request_serializer=lambda message: message.SerializeToString(),
            response_deserializer=reply.FromString,
        )
        return request, send

    def refused(self, service, method, body):
        """Makes a call that must be refused and returns the refusal."""
        try:
            self.call(service, method, body)
        except Refused as refused:
            return refused.refusal
        raise Surprise(f"{method} was answered where it must be refused.")


class Refused(Surprise):
    """A call was refused."""

    def __init__(self, method, error):
        self.refusal = Refusal(error)
        reason = self.refusal.info.reason if self.refusal.info else "no reason"
        super().__init__(
            f"{method} was refused with {self.refusal.code.name} ({reason}): {self.refusal.sentence}"
        )
