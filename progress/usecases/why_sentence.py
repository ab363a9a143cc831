"""The sentence why that every change of rules or skills carries."""

LONGEST_WHY = 300
NO_WHY = "Say in a sentence why, for whoever reads it next year."


def why_problem(sentence: str) -> dict[str, str]:
    """What is wrong with the sentence, under "why"; empty where nothing is."""
    if not sentence:
        return {"why": NO_WHY}
    if len(sentence) > LONGEST_WHY:
        return {"why": f"Keep it to {LONGEST_WHY} characters; this has {len(sentence)}."}
    return {}
