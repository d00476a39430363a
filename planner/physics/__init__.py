"""Arrays in, arrays out, SI, pure: the statics of a truck on air.

Corner arrays have shape (..., 2, 2): [axle: front, rear][side: left, right]; axle arrays (..., 2).
Axes follow ISO 8855: x forward, y left, z up, origin on the ground under the rear-axle centre.
"""
