"""Settings of the tests: hypothesis takes the same examples every time, and no time limit on one."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "same",
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
settings.register_profile(
    "search",
    settings.get_profile("same"),
    derandomize=False,
    max_examples=1000,
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "same"))
