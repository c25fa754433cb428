"""How static files are stored under names that follow their content."""

from __future__ import annotations

from django.contrib.staticfiles.storage import HashedFilesMixin
from whitenoise.storage import CompressedManifestStaticFilesStorage

_, _IMPORTS = HashedFilesMixin._js_module_import_aggregation_patterns  # type: ignore[attr-defined]  # stubs lack it


class ModuleManifestStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc]  # untyped
    """Compressed files with a hash in their name; scripts import each other by these names too.

    Only ours: packages bring scripts whose comments name modules that they do not bring. A module's hash depends on
    those of the modules it imports, so each level of imports takes one more pass.
    """

    support_js_module_import_aggregation = True
    _js_module_import_aggregation_patterns = ("js/*.js", _IMPORTS)
    max_post_process_passes = 10
