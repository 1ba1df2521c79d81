"""The codes of hazard and precautionary statements that exist.

Source: United Nations, Globally Harmonized System of Classification and Labelling of Chemicals
(GHS), annex 3, revisions 3 to 10; for EUH, Regulation (EC) No 1272/2008 (CLP), annexes II and III,
with statements that were repealed and still stand on older sheets. The lists are from memory.
"""

from __future__ import annotations

import re


def _codes(listed: str) -> frozenset[str]:
    return frozenset(listed.split())


HAZARD_CODES = _codes(
    """
    H200 H201 H202 H203 H204 H205 H206 H207 H208 H209 H210 H211
    H220 H221 H222 H223 H224 H225 H226 H227 H228 H229 H230 H231 H232
    H240 H241 H242 H250 H251 H252 H260 H261 H270 H271 H272 H280 H281 H282 H283 H284 H290
    H300 H301 H302 H303 H304 H305 H310 H311 H312 H313 H314 H315 H316 H317 H318 H319 H320
    H330 H331 H332 H333 H334 H335 H336 H340 H341 H350 H350i H351
    H360 H360F H360D H360FD H360Fd H360Df H361 H361f H361d H361fd H362 H370 H371 H372 H373
    H400 H401 H402 H410 H411 H412 H413 H420
    EUH001 EUH006 EUH014 EUH018 EUH019 EUH029 EUH031 EUH032 EUH044 EUH059 EUH066 EUH070 EUH071
    EUH201 EUH201A EUH202 EUH203 EUH204 EUH205 EUH206 EUH207 EUH208 EUH209 EUH209A EUH210 EUH211
    EUH212 EUH380 EUH381 EUH401 EUH430 EUH431 EUH440 EUH441 EUH450 EUH451
    """
)
"""Hazard statements."""

PRECAUTION_CODES = _codes(
    """
    P101 P102 P103 P201 P202 P203 P210 P211 P212 P220 P221 P222 P223 P230 P231 P232 P233 P234 P235
    P236 P240 P241 P242 P243 P244 P250 P251 P260 P261 P262 P263 P264 P265 P270 P271 P272 P273 P280
    P281 P282 P283 P284 P285 P301 P302 P303 P304 P305 P306 P307 P308 P309 P310 P311 P312 P313 P314
    P315 P316 P317 P318 P319 P320 P321 P322 P330 P331 P332 P333 P334 P335 P336 P337 P338 P340 P341
    P342 P350 P351 P352 P353 P354 P360 P361 P362 P363 P364 P370 P371 P372 P373 P374 P375 P376 P377
    P378 P380 P381 P390 P391 P401 P402 P403 P404 P405 P406 P407 P408 P410 P411 P412 P413 P420 P422
    P501 P502 P503
    """
)
"""Precautionary statements."""


def find_unknown_codes(code: str) -> tuple[str, ...]:
    """Give the parts of a code that no label bears.

    Args:
        code: One code, or several joined by `+`: `H301+H311`.

    Example:
        `H999` and `H360X` do not exist; `H360FD` does.
    """
    parts = re.split(r"\s*\+\s*", code)
    return tuple(part for part in parts if part not in HAZARD_CODES | PRECAUTION_CODES)
