"""An output folder that is replaced as a whole: nothing of the last one and of the user's is lost.

``claim.claimed`` holds an output for one run at a time and puts back what a run that was killed
left; the claim's ``staged`` gives an empty folder to write into, which takes the output's place at
the end. ``apart.apart`` refuses outputs that would swallow what is read.
"""
