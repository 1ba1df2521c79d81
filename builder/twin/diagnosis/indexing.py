"""The network and what is known of it, as numbers: prepared once, looked up often.

Written in the same subset of Python as `inference.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from builder.twin.diagnosis.shapes import Findings, IndexedNetwork, Network


def read_id(entry: Any) -> str:
    """Give the id of an entry, as a key to sort by."""
    name: str = entry["id"]
    return name


def read_link(link: Any) -> str:
    """Give the id a link leads to, as a key to sort by."""
    name: str = link[0]
    return name


def number_ids(entries: Sequence[Any], first: int) -> dict[str, int]:
    """Number entries in their order, from `first` on, by id."""
    numbers: dict[str, int] = {}
    for i in range(len(entries)):
        numbers[entries[i]["id"]] = first + i
    return numbers


def index_network(network: Network) -> IndexedNetwork:
    """Prepare a network once, for all that follows.

    Args:
        network: Plain data; links name ids that exist in it.

    Returns:
        The same network as parallel lists sorted by id, so that no result depends on the order in
        which entries were written.
    """
    causes = sorted(network["causes"], key=read_id)
    defects = sorted(network["defects"], key=read_id)
    symptoms = sorted(network["symptoms"], key=read_id)
    questions = sorted(network["questions"], key=read_id)
    defect_numbers = number_ids(defects, 0)
    symptom_numbers = number_ids(symptoms, 0)
    question_numbers = number_ids(questions, len(symptoms))
    indexed: IndexedNetwork = {
        "cause_ids": [],
        "priors": [],
        "cause_defects": [],
        "cause_chances": [],
        "cause_questions": [],
        "acting_chances": [],
        "resting_chances": [],
        "defect_ids": [],
        "defect_leaks": [],
        "defect_symptoms": [],
        "symptom_chances": [],
        "defect_causes": [],
        "defect_places": [],
        "finding_ids": [],
        "finding_leaks": [],
        "telling_no": [],
        "finding_defects": [],
        "finding_chances": [],
        "finding_causes": [],
        "finding_places": [],
        "symptom_count": len(symptoms),
    }
    for cause in causes:
        indexed["cause_ids"].append(cause["id"])
        indexed["priors"].append(cause["prior"])
        numbers: list[int] = []
        chances: list[float] = []
        for link in sorted(cause["defects"], key=read_link):
            numbers.append(defect_numbers[link[0]])
            chances.append(link[1])
        indexed["cause_defects"].append(numbers)
        indexed["cause_chances"].append(chances)
        asked: list[int] = []
        acting: list[float] = []
        resting: list[float] = []
        for answer in sorted(cause["questions"], key=read_link):
            asked.append(question_numbers[answer[0]])
            acting.append(answer[1])
            resting.append(answer[2])
        indexed["cause_questions"].append(asked)
        indexed["acting_chances"].append(acting)
        indexed["resting_chances"].append(resting)
    for defect in defects:
        indexed["defect_ids"].append(defect["id"])
        indexed["defect_leaks"].append(defect["leak"])
        shown: list[int] = []
        showing: list[float] = []
        for link in sorted(defect["symptoms"], key=read_link):
            shown.append(symptom_numbers[link[0]])
            showing.append(link[1])
        indexed["defect_symptoms"].append(shown)
        indexed["symptom_chances"].append(showing)
    for symptom in symptoms:
        indexed["finding_ids"].append(symptom["id"])
        indexed["finding_leaks"].append(symptom["leak"])
        indexed["telling_no"].append(False)
    for question in questions:
        indexed["finding_ids"].append(question["id"])
        indexed["finding_leaks"].append(question["leak"])
        indexed["telling_no"].append(question["telling"] == "no")
    index_backwards(indexed)
    return indexed


def index_backwards(indexed: IndexedNetwork) -> None:
    """Fill in the lists that lead from findings and defects back to causes."""
    for _ in indexed["defect_ids"]:
        indexed["defect_causes"].append([])
        indexed["defect_places"].append([])
    for _ in indexed["finding_ids"]:
        indexed["finding_defects"].append([])
        indexed["finding_chances"].append([])
        indexed["finding_causes"].append([])
        indexed["finding_places"].append([])
    for d in range(len(indexed["defect_ids"])):
        for k in range(len(indexed["defect_symptoms"][d])):
            f = indexed["defect_symptoms"][d][k]
            indexed["finding_defects"][f].append(d)
            indexed["finding_chances"][f].append(indexed["symptom_chances"][d][k])
    for c in range(len(indexed["cause_ids"])):
        for k in range(len(indexed["cause_defects"][c])):
            d = indexed["cause_defects"][c][k]
            indexed["defect_causes"][d].append(c)
            indexed["defect_places"][d].append(k)
        for k in range(len(indexed["cause_questions"][c])):
            f = indexed["cause_questions"][c][k]
            indexed["finding_causes"][f].append(c)
            indexed["finding_places"][f].append(k)


def find_symptom(network: IndexedNetwork, name: str) -> int:
    """Find the number of a symptom, or -1."""
    for f in range(network["symptom_count"]):
        if network["finding_ids"][f] == name:
            return f
    return -1


def find_question(network: IndexedNetwork, name: str) -> int:
    """Find the number of a question, or -1."""
    for f in range(network["symptom_count"], len(network["finding_ids"])):
        if network["finding_ids"][f] == name:
            return f
    return -1


def mark_findings(network: IndexedNetwork, findings: Findings) -> list[float]:
    """Mark each finding: 1 positive, -1 negative, 0 unknown.

    Positive means that something must explain it: a symptom present, or the telling answer. Ids the
    network does not have are passed over, and an id given both ways counts as unknown.
    """
    ups: list[bool] = []
    downs: list[bool] = []
    for _ in network["finding_ids"]:
        ups.append(False)
        downs.append(False)
    for name in findings["present"]:
        f = find_symptom(network, name)
        if f >= 0:
            ups[f] = True
    for name in findings["absent"]:
        f = find_symptom(network, name)
        if f >= 0:
            downs[f] = True
    for name in findings["yes"]:
        f = find_question(network, name)
        if f >= 0:
            if network["telling_no"][f]:
                downs[f] = True
            else:
                ups[f] = True
    for name in findings["no"]:
        f = find_question(network, name)
        if f >= 0:
            if network["telling_no"][f]:
                ups[f] = True
            else:
                downs[f] = True
    marks: list[float] = []
    for f in range(len(ups)):
        mark = 0.0
        if ups[f] and not downs[f]:
            mark = 1.0
        if downs[f] and not ups[f]:
            mark = -1.0
        marks.append(mark)
    return marks
