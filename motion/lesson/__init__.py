"""The lesson around the clip: before it begins, warm-up, count-in, pulse and breath, cool-down, plan and record."""
