"""Settings of the tests: hypothesis takes the same examples every time, and no time limit on one.

``MORE_EXAMPLES=20 pytest ...`` tries twenty times as many examples, and other ones each time.
"""

from __future__ import annotations

from hypothesis import HealthCheck, settings

settings.register_profile(
    "same",
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)
settings.load_profile("same")
