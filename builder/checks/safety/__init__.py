"""Safety rules: errors that content cannot silence.

They are written over what materials, tools and actions declare (flammable, corrosive, flash points,
limits, highest temperature), not over words of any craft. What the steps do to each vessel is
followed in `builder.vessels`.

What they cannot see: anything that only the text of a step says, and a thing that changes its name,
as when what lay in one vessel goes on under the name of another without a `pour`. Names that look
like slips of one another are an error for that reason.
"""
