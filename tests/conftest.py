"""Settings of Hypothesis: few examples at the desk, new ones each run; thousands in CI (`SHOWVC_EXAMPLES`).

In CI (`CI` is set) the examples follow from the test itself: a red run says something of the change, not of chance.
What chance finds at the desk becomes an `@example` beside the law.
"""

import os

from hypothesis import HealthCheck, settings

settings.register_profile(
    "showvc",
    max_examples=int(os.environ.get("SHOWVC_EXAMPLES", "20")),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
    derandomize=bool(os.environ.get("CI")),
)
settings.load_profile("showvc")
