"""Which of the 33 landmarks belong to which joint of the legs."""

from __future__ import annotations

#: Landmarks of the left side; the right side's are one higher.
HIP, KNEE, ANKLE, HEEL, TOE = 23, 25, 27, 29, 31
#: Points whose errors reach the angle, per joint; also the order of the settings' three-fold values.
POINTS = {"hip": (HIP, KNEE), "knee": (HIP, KNEE, ANKLE), "ankle": (KNEE, ANKLE, HEEL, TOE)}
KINDS = tuple(POINTS)
#: Segments of the leg that an angle lies between, by their two points: what of them points out of the picture's plane looks short.
THIGH, SHANK, FOOT = (HIP, KNEE), (KNEE, ANKLE), (HEEL, TOE)
LIMBS = {"hip": (THIGH,), "knee": (THIGH, SHANK), "ankle": (SHANK, FOOT)}
