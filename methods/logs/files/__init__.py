"""What a log comes in: plain files, archives, workbooks of every kind, web pages and JSON documents. All hostile."""
