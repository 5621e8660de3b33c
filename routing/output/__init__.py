"""Where output may go, and how it is written: whole, beside what the farmer wrote, and never over it."""
