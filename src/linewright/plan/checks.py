"""Stub."""


def check_whole(plan, reading, document): ...
