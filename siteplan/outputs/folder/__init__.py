"""An output folder that is replaced as a whole: nothing of the last one and of the user's is lost.

``claimed`` holds an output for one run at a time and puts back what a run that was killed left;
the claim's ``staged`` gives an empty folder to write into, which takes the output's place at the
end. ``apart`` refuses outputs that would swallow what is read.
"""

from siteplan.outputs.folder.apart import apart as apart
from siteplan.outputs.folder.claim import claimed as claimed
from siteplan.outputs.folder.claim import put_back as put_back
from siteplan.outputs.folder.signals import undisturbed as undisturbed
