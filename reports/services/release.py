from campaigns.enqueue import Outcome
from campaigns.models import Job


def make_pdf(job: Job) -> Outcome:
    raise NotImplementedError
