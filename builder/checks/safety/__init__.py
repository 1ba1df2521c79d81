from builder.checks.rule import Rule

RULES: tuple[Rule, ...] = ()
