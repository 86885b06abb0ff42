"""Practices simulated in a general physics engine (MuJoCo), sharing no code with the product or with its own model.

`chain` builds the player, `timeline` the joint motion, `moves` and `practice` what the player does, `play` runs the
engine, `truth` reads the true angles from its orientations, `errors` and `radio` make consumer sensors of the rest,
`dataset` writes the files that `pitchbend import-imu` takes, `score` judges what `pitchbend analyse` gives.
"""
