"""What people look at, without Streamlit: numbers, sentences and drawings."""
