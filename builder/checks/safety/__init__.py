"""Safety rules: errors that content cannot silence.

They are written over what materials, tools and actions declare (flammable, corrosive, flash points,
limits, highest temperature), not over words of any craft. What the steps do to each vessel is
followed in `builder.checks.vessels`.

What they cannot see: anything that only the text of a step says, and a thing that changes its name,
as when what lay in one vessel goes on under the name of another without a `pour`. Names that look
like slips of one another are an error for that reason.
"""

from __future__ import annotations

from builder.checks.rule import make_rule
from builder.checks.safety.cover import check_caution_missing, check_drill_missing
from builder.checks.safety.doses import check_dose_over_limit
from builder.checks.safety.heat import (
    check_above_flash_point,
    check_heat_after_flammable,
    check_over_safe_temperature,
)
from builder.checks.safety.names import check_vessel_unclear
from builder.diagnostics import Severity

RULES = (
    make_rule("heat-after-flammable", Severity.ERROR, "safety", check_heat_after_flammable),
    make_rule("above-flash-point", Severity.ERROR, "safety", check_above_flash_point),
    make_rule("dose-over-limit", Severity.ERROR, "safety", check_dose_over_limit),
    make_rule("over-safe-temperature", Severity.ERROR, "safety", check_over_safe_temperature),
    make_rule("drill-missing", Severity.ERROR, "safety", check_drill_missing),
    make_rule("caution-missing", Severity.ERROR, "safety", check_caution_missing),
    make_rule("vessel-unclear", Severity.ERROR, "safety", check_vessel_unclear),
)
