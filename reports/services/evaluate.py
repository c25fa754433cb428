from campaigns.enqueue import Outcome
from campaigns.models import Job


def evaluate_campaign(job: Job) -> Outcome:
    raise NotImplementedError
