"""Settings of Hypothesis: few examples at the desk, thousands in CI (`SHOWVC_EXAMPLES`)."""

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "showvc",
    max_examples=int(os.environ.get("SHOWVC_EXAMPLES", "60")),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
    derandomize=False,
)
settings.load_profile("showvc")
