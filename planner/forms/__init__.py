"""What filling in a form does, without Streamlit."""
