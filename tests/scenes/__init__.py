"""Known outlines turned into photos: an own camera, own solids, own light.

Shares no code with what measures: nothing here imports scribe.capture. Frames as in the
package: sheet frame in mm, x right, y up, z towards the camera; pixel centres at whole
numbers. Light is linear until the very last step.
"""
