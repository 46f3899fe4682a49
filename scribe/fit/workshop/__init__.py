"""Angles, boards, sheets and stiffness: from sizes to the saw."""
